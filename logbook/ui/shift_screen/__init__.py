"""The Shift screen: the running shift as one picture, and what is open in it."""
