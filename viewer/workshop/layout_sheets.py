"""Sheets with the boards that are cut from them, as a picture and as a drawing at 1:1."""

from collections.abc import Mapping, Sequence

from PIL import Image, ImageDraw

from seamsight.scene.lettering import font
from seamsight.viewer.sheet import FAINT, INK, PAPER, noted, stacked
from seamsight.viewer.workshop.pieces_drawn import face_sketch
from seamsight.viewer.workshop.sheet_layout import Layout, Placed
from seamsight.viewer.workshop.sketch import Label, Sketch

WOOD = (226, 208, 174)
LEFT_OVER = (255, 255, 255)
BETWEEN = 200.0  # mm between two sheets of a drawing
LETTER = 30.0  # mm, of a sheet's title
SMALLEST = 9  # pixels; lettering below it is not read

Numbers = Mapping[str, int]  # of each board in the cut list, by its name


def layout_sketch(layouts: Sequence[Layout], numbers: Numbers) -> Sketch:
    """Return all sheets below each other, boards as they are cut, with numbers and names."""
    sketch = Sketch()
    top = 0.0
    for layout, number, boards in _sheets(layouts):
        length, width = layout.sheet
        top -= width + BETWEEN
        corners = [(0, top), (length, top), (length, top + width), (0, top + width)]
        sketch.add_polygon(corners, "SHEET")
        title = (length / 2, top + width + LETTER)
        sketch.labels.append(Label(title, _title(layout, number), LETTER))
        for one in boards:
            _add_board(sketch, one, top, numbers[one.piece.name])
    return sketch


def layout_picture(
    layouts: Sequence[Layout], numbers: Numbers, caption: str, width: int
) -> Image.Image:
    """Return all sheets below each other as a picture; a list of the boards' numbers follows."""
    letter = max(12, width // 80)
    head = Image.new("RGB", (width, 1), PAPER)
    strips = [noted(head, [caption], letter)]
    for layout, number, boards in _sheets(layouts):
        strips.append(noted(head, [_title(layout, number)], letter))
        strips.append(_sheet_picture(layout, boards, numbers, width))
    named: dict[int, str] = {}
    for layout in layouts:
        for sheet in layout.sheets:
            named |= {numbers[one.piece.name]: one.piece.name for one in reversed(sheet)}
    list_ = "; ".join(f"{number} {named[number]}" for number in sorted(named))
    return noted(stacked(strips), [f"Numbers of the cut list: {list_}."], letter)


def _sheets(layouts: Sequence[Layout]) -> list[tuple[Layout, int, tuple[Placed, ...]]]:
    return [
        (layout, number, boards)
        for layout in layouts
        for number, boards in enumerate(layout.sheets, start=1)
    ]


def _title(layout: Layout, number: int) -> str:
    length, width = layout.sheet
    of = f"sheet {number} of {len(layout.sheets)}"
    size = f"{length:g} × {width:g} mm, kerf {layout.kerf:g} mm"
    return f"{layout.material} {layout.thickness:g} mm, {of}: {size}"


def _add_board(sketch: Sketch, one: Placed, top: float, number: int) -> None:
    across, along = (one.piece.sides[axis] for axis in one.piece.face_axes)
    turned = (across < along) == (one.size[0] >= one.size[1])
    x, y = (at + side / 2 for at, side in zip(one.at, one.size, strict=True))
    sketch.add(face_sketch(one.piece).placed((x, y + top), turned=turned))
    words = f"{number} {one.piece.name}"
    longer, shorter = max(one.size), min(one.size)
    height = min(LETTER, shorter / 2, longer / (0.7 * len(words)))
    turn = 0.0 if one.size[0] >= one.size[1] else 90.0
    sketch.labels.append(Label((x, y + top), words, height, turn))


def _sheet_picture(
    layout: Layout, boards: Sequence[Placed], numbers: Numbers, width: int
) -> Image.Image:
    """Return one sheet, its length across the picture."""
    margin = max(12, width // 80)
    scale = (width - 2 * margin) / layout.sheet[0]
    height = round(layout.sheet[1] * scale) + margin
    picture = Image.new("RGB", (width, height), PAPER)
    draw = ImageDraw.Draw(picture)
    foot = round(layout.sheet[1] * scale)
    draw.rectangle([margin, 0, width - margin, foot], fill=LEFT_OVER, outline=FAINT)
    for one in boards:
        (x, y), (along, across) = one.at, one.size
        box = (margin + x * scale, foot - (y + across) * scale, along * scale, across * scale)
        edges = [box[0], box[1], box[0] + box[2], box[1] + box[3]]
        draw.rectangle(edges, fill=WOOD, outline=INK)
        _draw_words(picture, box, one, numbers[one.piece.name])
    return picture


def _draw_words(
    picture: Image.Image, box: tuple[float, float, float, float], one: Placed, number: int
) -> None:
    """Draw a board's number, name and size into its box, or what of them there is room for."""
    left, top, width, height = box
    length, across, _ = one.piece.size
    longer, shorter = max(width, height), min(width, height)
    for words in (f"{number} {one.piece.name}, {length:.1f} × {across:.1f}", f"{number}"):
        size = min(18.0, 0.8 * shorter, 1.7 * longer / len(words))
        if size >= SMALLEST:
            letters = font(round(size))
            patch = Image.new("L", (round(letters.getlength(words)) + 2, round(1.4 * size)))
            ImageDraw.Draw(patch).text((1, patch.height / 2), words, 255, letters, anchor="lm")
            if height > width:
                patch = patch.rotate(90, expand=True)
            at = (round(left + (width - patch.width) / 2), round(top + (height - patch.height) / 2))
            picture.paste(INK, at, patch)
            return
