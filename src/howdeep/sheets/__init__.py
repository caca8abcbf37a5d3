"""Engine sheets as people make them: what a manual prints taken as it is printed, checked and explained at once."""
