"""The venue's water: its outline, sectors and banks."""
