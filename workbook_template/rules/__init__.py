"""What may be typed into a workbook: each rule makes a line of Checks and the faults of check."""
