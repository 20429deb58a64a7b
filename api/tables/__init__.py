"""Tables in the formats that people have: comma separated text, workbooks (XLSX) and, on the way out, JSON lines."""
