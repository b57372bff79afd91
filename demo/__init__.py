"""An invented client, as plain data files, and what builds it."""
