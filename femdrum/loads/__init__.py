"""From machine data and loads to factors on unit load cases."""
