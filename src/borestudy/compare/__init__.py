"""Results of many cases side by side, and the study's own mesh settings put to the test."""
