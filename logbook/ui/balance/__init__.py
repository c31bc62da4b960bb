"""The Balance screen: where the beans, oil, water and solvent went."""
