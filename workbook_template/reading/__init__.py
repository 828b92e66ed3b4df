"""What somebody entered into a workbook, whatever saved it since."""
