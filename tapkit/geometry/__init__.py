"""Things: thread, tap, hole, section and skin. Plain floats in mm and degrees."""
