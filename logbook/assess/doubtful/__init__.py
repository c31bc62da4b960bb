"""Numbers that may not have been measured: questions about them, each with its evidence.

Never an accusation. A steady plant, a coarse gauge and a stuck instrument look like a copied
number; every question names such explanations first.
"""
