"""Workbooks made of rows."""

import io

import openpyxl


def book(**sheets: list[list[object]]) -> bytes:
    """Bytes of a workbook with these sheets, by their names."""
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    content = io.BytesIO()
    made.save(content)
    return content.getvalue()
