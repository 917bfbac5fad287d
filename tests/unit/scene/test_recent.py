"""What is kept, and what goes."""

from seamsight.scene.recent import Recent


def made(recent, key):
    """Return whether a value of ten bytes is made anew for a key."""
    new = []

    def make():
        new.append(key)
        return b"x" * 10

    recent.get(key, make)
    return bool(new)


def test_the_longest_unused_goes():
    recent = Recent(30, len)
    assert [made(recent, key) for key in "abc"] == [True, True, True]
    assert not made(recent, "a")
    assert made(recent, "d")
    assert [made(recent, key) for key in "acd"] == [False, False, False]
    assert made(recent, "b")


def test_the_newest_stays_even_if_too_large():
    recent = Recent(5, len)
    assert made(recent, "a")
    assert not made(recent, "a")
    assert made(recent, "b")
    assert made(recent, "a")
