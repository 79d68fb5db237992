"""Photos as phones send them, and as nobody should."""

import contextlib
import hashlib
import io
import random
import struct
import zlib
from pathlib import Path

import pillow_heif
import pytest
from PIL import ExifTags, Image, ImageCms

from inventory.storage.photos import MAX_BYTES, MAX_PIXELS, InvalidPhoto, NoSuchPhoto, PhotoSize, PhotoStore, read_photo
from tests.small_disk import run_on_a_small_disk

RED, BLUE = (200, 30, 30), (30, 30, 200)
PHONE_FORMATS = ["JPEG", "PNG", "WEBP", "AVIF", "HEIF"]


def half_red(width: int = 64, height: int = 32) -> Image.Image:
    """Red on the left, blue on the right, as the sensor saw it."""
    picture = Image.new("RGB", (width, height), BLUE)
    picture.paste(RED, (0, 0, width // 2, height))
    return picture


def camera_notes(orientation: int) -> bytes:
    notes = Image.Exif()
    notes[ExifTags.Base.Orientation] = orientation
    notes[ExifTags.Base.Make] = "A phone"
    notes.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitude] = (51.0, 30.0, 12.0)
    return notes.tobytes()


def as_file(picture: Image.Image, kind: str, **how: object) -> bytes:
    pillow_heif.register_heif_opener()
    out = io.BytesIO()
    picture.save(out, kind, **how)
    return out.getvalue()


def opened(jpeg: bytes) -> Image.Image:
    picture = Image.open(io.BytesIO(jpeg))
    picture.load()
    return picture


def colour_at(picture: Image.Image, x: int, y: int) -> str:
    red, green, blue = picture.getpixel((x, y))
    if min(red, green, blue) > 230:
        return "white"
    return "red" if red > blue else "blue"


def refused(content: bytes, name: str = "") -> str:
    with pytest.raises(InvalidPhoto) as error:
        read_photo(content, name)
    return str(error.value)


def png_that_claims(width: int, height: int) -> bytes:
    def chunk(kind: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"\0" * 9)) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("kind", PHONE_FORMATS)
def test_a_phone_held_on_its_side_gives_an_upright_photo(kind: str) -> None:
    photo = read_photo(as_file(half_red(), kind, exif=camera_notes(6)))
    assert (photo.width, photo.height) == (32, 64)
    full = opened(photo.full)
    # Orientation 6 asks for a quarter turn to the right: what the sensor saw on the left is on top.
    assert (colour_at(full, 16, 5), colour_at(full, 16, 58)) == ("red", "blue")


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_way_to_hold_the_phone_keeps_the_size_right(orientation: int) -> None:
    photo = read_photo(as_file(half_red(), "JPEG", exif=camera_notes(orientation)))
    assert (photo.width, photo.height) == ((64, 32) if orientation <= 4 else (32, 64))
    assert opened(photo.full).size == (photo.width, photo.height)


@pytest.mark.parametrize("kind", PHONE_FORMATS)
def test_the_place_where_a_photo_was_taken_is_gone(kind: str) -> None:
    sent = as_file(half_red(), kind, exif=camera_notes(6))
    assert opened(sent).getexif().get_ifd(ExifTags.IFD.GPSInfo)
    photo = read_photo(sent)
    for kept in (opened(photo.full), opened(photo.thumb)):
        assert kept.format == "JPEG"
        assert dict(kept.getexif()) == {}
        assert not kept.getexif().get_ifd(ExifTags.IFD.GPSInfo)
        assert set(kept.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_the_camera_s_remarks_and_other_notes_are_gone() -> None:
    sent = as_file(half_red(), "JPEG", comment=b"at home", xmp=b"<x:xmpmeta/>", dpi=(300, 300))
    for kept in (read_photo(sent).full, read_photo(sent).thumb):
        assert b"at home" not in kept
        assert b"xmpmeta" not in kept


def test_a_large_photo_is_made_smaller_and_a_small_one_is_left() -> None:
    large = read_photo(as_file(half_red(4000, 3000), "JPEG"))
    assert (large.width, large.height) == (2400, 1800)
    assert opened(large.thumb).size == (480, 360)
    small = read_photo(as_file(half_red(40, 30), "JPEG"))
    assert opened(small.full).size == opened(small.thumb).size == (40, 30)


def test_a_photo_of_exactly_the_largest_size_is_not_touched_and_one_more_pixel_is() -> None:
    assert read_photo(as_file(half_red(2400, 10), "PNG")).width == 2400
    over = read_photo(as_file(half_red(2401, 10), "PNG"))
    assert (over.width, over.height) == (2400, 10)


def test_a_strip_one_pixel_high_is_still_a_photo() -> None:
    photo = read_photo(as_file(half_red(9000, 1), "PNG"))
    assert (photo.width, photo.height) == (2400, 1)


def test_a_see_through_picture_is_put_on_white() -> None:
    clear = Image.new("RGBA", (20, 10), (0, 0, 0, 0))
    clear.paste((*RED, 255), (0, 0, 10, 10))
    full = opened(read_photo(as_file(clear, "PNG")).full)
    assert (colour_at(full, 3, 5), colour_at(full, 17, 5)) == ("red", "white")
    palette = Image.new("P", (10, 10), 0)
    palette.putpalette([0, 0, 0])
    full = opened(read_photo(as_file(palette, "PNG", transparency=b"\0")).full)
    assert colour_at(full, 5, 5) == "white"


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16"])
def test_every_kind_of_png_becomes_a_color_photo(mode: str) -> None:
    photo = read_photo(as_file(half_red().convert("L").convert(mode), "PNG"))
    assert opened(photo.full).mode == "RGB"


def test_a_gray_of_sixteen_bits_keeps_its_gray() -> None:
    grey = Image.new("I;16", (16, 16), 128 * 257)
    assert opened(read_photo(as_file(grey, "PNG")).full).getpixel((8, 8)) == (128, 128, 128)


def test_a_print_shop_s_four_colors_become_three() -> None:
    photo = read_photo(as_file(Image.new("CMYK", (16, 16), (0, 255, 255, 50)), "JPEG"))
    full = opened(photo.full)
    assert full.mode == "RGB"
    assert colour_at(full, 8, 8) == "red"


def test_a_photo_in_other_colors_is_brought_to_the_screen_s() -> None:
    lab = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    photo = read_photo(as_file(half_red(), "JPEG", icc_profile=lab))
    assert "icc_profile" not in opened(photo.full).info
    assert colour_at(opened(photo.full), 5, 5) == "red"


def test_a_damaged_color_profile_does_not_cost_the_photo() -> None:
    photo = read_photo(as_file(half_red(), "JPEG", icc_profile=b"no profile at all" * 20))
    assert colour_at(opened(photo.full), 5, 5) == "red"


def test_two_pictures_in_one_phone_file_give_the_first() -> None:
    pair = as_file(half_red(), "MPO", save_all=True, append_images=[half_red(20, 10)])
    assert read_photo(pair).width == 64


def test_a_picture_can_come_as_an_open_file() -> None:
    assert read_photo(io.BytesIO(as_file(half_red(), "JPEG"))).width == 64


def test_something_else_is_refused_in_a_sentence() -> None:
    sentence = "is not a picture that can be read here. Send a JPEG, PNG, WebP, HEIC or AVIF."
    assert refused(b"ash 23 1/2 x 3 1/4 x 13/16") == f"The photo {sentence}"
    assert refused(b"\0" * 5000, "list.xls") == f'"list.xls" {sentence}'
    assert refused(as_file(half_red(), "GIF")) == f"The photo {sentence}"
    assert refused(as_file(half_red(), "TIFF")) == f"The photo {sentence}"
    assert refused(b"<svg xmlns='http://www.w3.org/2000/svg'/>") == f"The photo {sentence}"


@pytest.mark.parametrize("kind", PHONE_FORMATS)
def test_a_photo_with_changed_bytes_is_kept_or_refused_and_nothing_else_happens(kind: str) -> None:
    sound = as_file(Image.effect_noise((48, 32), 60).convert("RGB"), kind, exif=camera_notes(6))
    draw = random.Random(kind)
    for _ in range(60):
        spoilt = bytearray(sound)
        for _ in range(draw.choice((1, 3, 10))):
            spoilt[draw.randrange(len(spoilt))] = draw.randrange(256)
        with contextlib.suppress(InvalidPhoto):
            assert opened(read_photo(bytes(spoilt)).full).format == "JPEG"


def test_nothing_at_all_is_refused_in_a_sentence() -> None:
    assert refused(b"") == "The photo is empty: no byte of it arrived. Send it again."


@pytest.mark.parametrize("kind", PHONE_FORMATS)
@pytest.mark.parametrize("part", [0.5, 0.9])
def test_a_photo_that_was_cut_off_is_refused_in_a_sentence(kind: str, part: float) -> None:
    whole = as_file(half_red(300, 200), kind)
    text = refused(whole[: int(len(whole) * part)], "ash.jpg")
    # An AVIF that is cut off is not even known as one.
    assert text in (
        '"ash.jpg" is cut off or damaged and can\'t be read to its end. Send it again.',
        '"ash.jpg" is not a picture that can be read here. Send a JPEG, PNG, WebP, HEIC or AVIF.',
    )


def test_two_hundred_megabytes_are_refused_and_not_read_to_the_end() -> None:
    class Endless(io.RawIOBase):
        given = 0

        def read(self, size: int = -1) -> bytes:
            assert size >= 0
            self.given += size
            return b"\xff" * size

    endless = Endless()
    with pytest.raises(InvalidPhoto) as error:
        read_photo(endless)
    assert str(error.value) == "The photo is larger than 30 MB. Take it again at a smaller size, or send a JPEG."
    assert endless.given == MAX_BYTES + 1


def test_a_header_that_claims_a_giant_is_refused_before_it_is_decoded() -> None:
    assert refused(png_that_claims(50_000, 50_000)) == (
        "The photo has far too many pixels; at most 8192 × 6144 can be kept. Take it again at a smaller size."
    )
    # Pillow itself only warns here.
    assert refused(png_that_claims(12_000, 12_000)) == (
        "The photo has 12000 × 12000 pixels; at most 8192 × 6144 can be kept. Take it again at a smaller size."
    )
    assert refused(png_that_claims(8192, 6145)).startswith("The photo has 8192 × 6145 pixels;")
    assert refused(png_that_claims(65_001, 2)).startswith("The photo has 65001 × 2 pixels;")


def test_the_largest_phone_s_picture_is_still_read() -> None:
    assert MAX_PIXELS == 8192 * 6144
    photo = read_photo(as_file(Image.new("L", (8192, 6144), 90), "JPEG"))
    assert (photo.width, photo.height) == (2400, 1800)


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "AVIF"])
def test_a_film_is_refused_in_a_sentence(kind: str) -> None:
    film = as_file(half_red(), kind, save_all=True, append_images=[half_red().rotate(180)], duration=100)
    assert refused(film) == "The photo moves: it is a film of several pictures. Send a single picture."


def test_a_kept_photo_is_found_under_the_digest_of_its_bytes(tmp_path: Path) -> None:
    store = PhotoStore(tmp_path / "photos")
    photo = read_photo(as_file(half_red(600, 400), "JPEG"))
    kept = store.keep(photo)
    assert (kept.width, kept.height) == (600, 400)
    full, thumb = store.path(kept.digest, "full"), store.path(kept.digest, PhotoSize.THUMB)
    assert hashlib.sha256(full.read_bytes()).hexdigest() == kept.digest
    assert thumb.read_bytes() == photo.thumb
    assert {each.name for each in full.parent.iterdir()} == {full.name, thumb.name}


def test_the_same_photo_twice_is_kept_once_and_a_spoilt_file_is_made_good(tmp_path: Path) -> None:
    store = PhotoStore(tmp_path / "photos")
    photo = read_photo(as_file(half_red(), "JPEG"))
    first = store.keep(photo)
    store.path(first.digest, "full").write_bytes(b"spoilt")
    assert store.keep(photo) == first
    assert store.path(first.digest, "full").read_bytes() == photo.full
    assert len([each for each in store.folder.rglob("*") if each.is_file()]) == 2


@pytest.mark.parametrize(
    "digest", ["", "../../etc/passwd", "a" * 63, "a" * 65, "A" * 64, "a" * 64 + "\n", "a" * 62 + "/x", "٣" * 64]
)
def test_nothing_but_a_digest_reaches_the_disk(tmp_path: Path, digest: str) -> None:
    with pytest.raises(NoSuchPhoto) as error:
        PhotoStore(tmp_path).path(digest, "full")
    assert str(error.value) == "That is no photo of this shop: its name must be 64 hex digits."


def test_a_size_that_is_not_kept_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NoSuchPhoto) as error:
        PhotoStore(tmp_path).path("a" * 64, "../full")
    assert str(error.value) == 'A photo is kept as "full" and as "thumb", in no other size.'


def test_a_photo_that_was_never_kept_is_reported_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(NoSuchPhoto) as error:
        PhotoStore(tmp_path).path("a" * 64, "full")
    assert str(error.value) == "That photo is not in this shop's folder. Open the piece and take it again."


def test_a_full_disk_is_reported_in_a_sentence_and_leaves_no_half_file(tmp_path: Path) -> None:
    noise = Image.effect_noise((600, 600), 90).convert("RGB")
    (tmp_path / "noise.png").write_bytes(as_file(noise, "PNG"))
    done = run_on_a_small_disk(
        """
from inventory.storage.photos import PhotoStore, read_photo
from inventory.storage.atomic_write import WriteFailed
photo = read_photo((folder / "noise.png").read_bytes())
try:
    PhotoStore(disk).keep(photo)
except WriteFailed as error:
    print(error)
print([place.name for place in disk.rglob("*") if place.is_file()])
""",
        tmp_path,
        kilobytes=8,
    )
    assert done.stderr == ""
    text, left = done.stdout.splitlines()
    assert text.endswith("can't be written: the disk is full. Free some space and try again.")
    assert left == "[]"
