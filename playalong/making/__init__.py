"""The whole order: which tracks a drill asks for, and making them."""
