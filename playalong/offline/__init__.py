"""Pages that need nothing else and send nothing: what all of them are made with."""
