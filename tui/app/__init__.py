"""The full-screen app. `run.run_app` is its one entry; nothing here is imported before that."""
