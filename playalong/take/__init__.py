"""A take: what a player played to a track, told note by note."""
