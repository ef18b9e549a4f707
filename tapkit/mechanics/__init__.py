"""What cutting does to a tap: pure functions of plain floats and arrays."""
