"""What to enter in the simulator so that its pictures fit the rig: views, windows, signals."""
