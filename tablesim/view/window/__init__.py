"""What joins all: parts, events, frames, actions."""
