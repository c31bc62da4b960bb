"""The Round screen: the form in which a crew writes one round."""
