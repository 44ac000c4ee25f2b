"""The page to practise from: one HTML file."""
