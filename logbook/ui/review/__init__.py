"""The Review screen: a shift as a grid of points by rounds, exceptions first."""
