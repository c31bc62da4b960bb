"""The Handover screen: what one crew hands to the next, and both signatures."""
