"""Results -> words and layout."""
