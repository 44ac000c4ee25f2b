"""Strings, sizes and hands: what a finger in a position stops."""
