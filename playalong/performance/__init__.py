"""What sounds when, at one tempo and in one stage."""
