"""What is being worked on, its changes and its files; no screen."""
