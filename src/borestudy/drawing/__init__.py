"""What all figures share: sizes and colours, words that fit, words where a value is missing."""
