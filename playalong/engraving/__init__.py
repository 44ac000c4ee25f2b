"""Scores as MusicXML, and as lines of music made of marks in mm."""
