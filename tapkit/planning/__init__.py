"""Planning at the machine: drills, hole plans, choice of tap, speed and feed."""
