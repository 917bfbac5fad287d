from seamsight.scene import outlines
from seamsight.scene.outlines import Circle, Piece, Rectangle
from seamsight.scene.solids import Plate


def test_a_plate_s_piece_has_its_holes_as_true_circles_and_rounded_corners():
    holes = [
        {"shape": "circle", "at": [60, 20], "diameter": 80},
        {"shape": "rect", "at": [-60, -10], "size": [50, 30], "radius": 8},
        {"shape": "rect", "at": [0, 0], "size": [10, 5]},
    ]
    plate = Plate(name="panel", centre=(0, 500, 0), size=(300, 200), thickness=3, holes=holes)
    assert outlines.plate_piece(plate) == Piece(
        Rectangle((0, 0), (300, 200)),
        (
            Circle((60, 20), 40),
            Rectangle((-60, -10), (50, 30), radius=8),
            Rectangle((0, 0), (10, 5)),
        ),
    )


def test_a_ring_is_an_opening_in_a_larger_rectangle():
    ring = outlines.ring(100, 60, 8)
    assert ring == Piece(Rectangle((0, 0), (116, 76)), (Rectangle((0, 0), (100, 60)),))
