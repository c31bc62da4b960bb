"""Every line that touches Qt."""
