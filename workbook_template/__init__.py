"""The generator of the batch and costing workbook."""
