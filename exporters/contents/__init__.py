"""What each section says, a module per divider or topic; `handoff` puts them in order."""
