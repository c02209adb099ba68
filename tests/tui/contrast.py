"""How well one colour is read on another."""

from textual.color import Color


def compute_contrast(one: Color, other: Color) -> float:
    """The contrast ratio of WCAG 2.1 (relative luminance, 0.05 for flare): from 1 to 21."""
    lighter, darker = sorted((compute_luminance(each) for each in (one, other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def compute_luminance(color: Color) -> float:
    linear = [each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in color.normalized]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
