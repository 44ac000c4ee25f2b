"""The drill on paper."""
