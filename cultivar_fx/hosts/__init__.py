"""Ways into spreadsheet programs: each takes names, help and limits from the catalog."""
