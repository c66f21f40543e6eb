"""Pictures of the report: those of the pages, without title, on white paper."""

import xml.etree.ElementTree as ET

import pytest
from charts_drawn import CHARTS, contrast

from analytics.charts import theme


@pytest.mark.parametrize("name", ["compared", "side_by_side", "moments"])
def test_every_picture_is_drawn_as_well_formed_svg_without_its_title(name):
    chart = CHARTS[name]()
    drawn = theme.svg(chart, width=620)
    assert ET.fromstring(drawn).tag.endswith("svg")
    assert chart.title.text[0] not in drawn


# WCAG 2.2, 1.4.11: graphics need a contrast of 3:1 to what is beside them.
@pytest.mark.published
@pytest.mark.parametrize("hue", theme.CATEGORIES)
def test_every_hue_stands_out_from_white_paper(hue):
    assert contrast(hue, "#FFFFFF") >= 3
