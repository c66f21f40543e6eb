"""Figures: a result table in, an Altair chart out. No Streamlit, no arithmetic of ours.

Each chart's title states what it shows and its subtitle where the numbers come from.
"""
