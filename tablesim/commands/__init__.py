"""The commands, by what they are about; cli.py joins them."""
