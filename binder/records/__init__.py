"""Each record kind declared once; tables, forms, JSON, CSV, history and search derive from it."""
