"""From a performance to MIDI, samples and audio files."""
