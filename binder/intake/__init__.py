"""Ways in and out of a binder as data: JSON, CSV, series."""
