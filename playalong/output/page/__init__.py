"""The practice page: one HTML file that a pupil opens on a phone and plays from."""
