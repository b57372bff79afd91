"""The core: what a binder holds and what follows from it. No screen, no document, no network."""
