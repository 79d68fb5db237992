"""Files that are there whole or not at all."""

from pathlib import Path

import pytest

from inventory.storage.atomic_write import PRIVATE, WriteFailed, atomic_write, make_folder


def test_a_file_appears_only_when_it_is_complete(tmp_path: Path) -> None:
    place = tmp_path / "rack.csv"
    with atomic_write(place) as stream:
        stream.write(b"ash")
        assert not place.exists()
    assert place.read_bytes() == b"ash"
    assert list(tmp_path.iterdir()) == [place]


def test_an_error_halfway_leaves_the_old_file_alone(tmp_path: Path) -> None:
    place = tmp_path / "rack.csv"
    place.write_bytes(b"old")
    with pytest.raises(ZeroDivisionError), atomic_write(place) as stream:
        stream.write(b"new")
        raise ZeroDivisionError
    assert place.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [place]


def test_a_private_file_is_the_owner_s_alone(tmp_path: Path) -> None:
    with atomic_write(tmp_path / "secret", PRIVATE) as stream:
        stream.write(b"words")
    assert (tmp_path / "secret").stat().st_mode & 0o777 == 0o600


def test_a_link_keeps_pointing_to_its_file(tmp_path: Path) -> None:
    real, link = tmp_path / "real.csv", tmp_path / "link.csv"
    link.symlink_to(real)
    with atomic_write(link) as stream:
        stream.write(b"ash")
    assert link.is_symlink()
    assert real.read_bytes() == b"ash"


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("", "is not a file and can't be written over. Name a file."),
        ("none/rack.csv", 'can\'t be written: there is no folder "{folder}/none". Make it, or name another.'),
        ("x" * 300, "can't be written: the name is too long. Choose a shorter one."),
    ],
)
def test_a_place_that_takes_no_file_is_reported_in_a_sentence(tmp_path: Path, name: str, text: str) -> None:
    place = tmp_path / name
    with pytest.raises(WriteFailed) as error, atomic_write(place):
        pass
    assert str(error.value) == f'"{place}" {text.format(folder=tmp_path)}'


def test_the_empty_device_stays_a_device() -> None:
    with pytest.raises(WriteFailed) as error, atomic_write(Path("/dev/null")):
        pass
    assert str(error.value) == '"/dev/null" is not a file and can\'t be written over. Name a file.'


def test_a_folder_in_a_file_is_reported_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(WriteFailed) as error:
        make_folder(tmp_path / "file" / "inner")
    assert str(error.value) == (
        f'The folder "{tmp_path}/file" can\'t be made: a file of that name is in the way. Choose another name.'
    )
