"""What goes into an entry: the rig as it was, and pictures that can be held together."""

from seamsight.scene import Head, read_rig
from seamsight.viewer.log import entry as log_entry
from seamsight.viewer.log.entry import Words, entry_files
from seamsight.viewer.log.store import store


def test_pictures_keep_their_directions_while_the_screens_lie_in_them(entry_of, screen_at):
    first = entry_of(screen=[screen_at()])
    second = entry_of(screen=[screen_at(centre=[20, 600, 10])])
    third = entry_of(screen=[screen_at(centre=[400, 600, 0])])
    assert second.facts.directions == first.facts.directions
    assert third.facts.directions != first.facts.directions


def test_every_file_that_a_rig_names_is_kept(sample, tmp_path, day, monkeypatch):
    """Without drawing, which other tests do: the rig can be read again from the entry alone."""
    monkeypatch.setattr(log_entry, "_eye_pictures", lambda *_: {})
    rig = read_rig(sample)
    files = entry_files(rig, Head(name="design"), Words(day, "", "x"), None)
    folder = store(tmp_path / "log", day, files)
    assert read_rig(folder / "rig" / sample.name).model_dump() == rig.model_dump()
    assert (folder / "numbers.json").stat().st_size > 100


def test_photos_are_kept_as_they_are(entry_of, screen_at, tmp_path):
    photo = tmp_path / "a b.PNG"
    photo.write_bytes(b"whatever it holds")
    entry = entry_of(pictures=[(photo, "the stand")], screen=[screen_at()])
    assert [own.caption for own in entry.facts.pictures] == ["the stand"]
    assert entry.facts.pictures[0].file == "pictures/01_a_b.png"
    assert (entry.folder / "pictures/01_a_b.png").read_bytes() == photo.read_bytes()
