"""What a sheet is made of, and how it becomes cells."""
