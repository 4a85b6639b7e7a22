"""Department of Science and Technology, Glossary of Metal/Plastic Can Seam Terminology, undated.

Of the Philippines, Regional Office 8, Regional Standards and Testing Laboratory, appendix 1, revision 0. Seen
in public text: 307 x 512 is a can 3 7/16 in across and 5 12/16 in, that is 5 3/4 in, high.
"""

from __future__ import annotations

from kb.process.size_code import nominal_inches

GLOSSARY_DIAMETER_IN = 3 + 7 / 16
GLOSSARY_HEIGHT_IN = 5 + 3 / 4


def test_glossary_example():
    """Both codes of the example come out exactly."""
    assert nominal_inches(code="307") == GLOSSARY_DIAMETER_IN
    assert nominal_inches(code="512") == GLOSSARY_HEIGHT_IN
