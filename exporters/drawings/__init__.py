"""Drawings: each is data first, then lines of text, then, where it has one, a picture in SVG."""
