"""The record kinds, a module per divider; `binder.records.catalog` gathers them."""
