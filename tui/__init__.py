"""The terminal: the full-screen app and the one-shot commands."""
