"""A drill written out in a key and on a string, and what is told of it."""
