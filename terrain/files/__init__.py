"""Files that others open: meshes, drawings, tables, the workbook, the summary."""
