"""Where the words of a drawn figure really stand."""

from matplotlib.text import Text

from femdrum.report.style import looks

SLACK = 1.5  # pixels at 200 dpi


def drawn_words(figure):
    """(text, box in pixels) of all that is drawn."""
    found, kept = [], Text.draw

    def draw(self, renderer, *args, **options):
        if self.get_visible() and self.get_text().strip():
            found.append((self.get_text(), Text.get_window_extent(self, renderer)))
        return kept(self, renderer, *args, **options)

    Text.draw = draw
    try:
        with looks():  # ticks that are made only now belong to the figure
            figure.canvas.draw()
    finally:
        Text.draw = kept
    return found


def cut_words(figure):
    """Words that leave the figure."""
    wide, high = figure.bbox.width, figure.bbox.height
    return [
        text for text, box in drawn_words(figure)
        if box.x0 < -SLACK or box.y0 < -SLACK or box.x1 > wide + SLACK or box.y1 > high + SLACK
    ]  # fmt: skip


def overlaps(figure):
    """Pairs of words that lie on each other, by more than corners of their boxes."""
    words, found = drawn_words(figure), []
    for n, (text, a) in enumerate(words):
        for other, b in words[:n]:
            wide = min(a.x1, b.x1) - max(a.x0, b.x0)
            high = min(a.y1, b.y1) - max(a.y0, b.y0)
            if min(wide, high) > 2 * SLACK and wide * high > 0.02 * min(a.width * a.height, b.width * b.height):
                found.append((text, other))
    return found
