"""Photos of a piece: added, chosen, removed, and served by their digest alone."""

from html import unescape

import pytest

from inventory.core.lengths import inches
from inventory.core.offcuts import Offcut
from inventory.services.rack import editing, queries, tagging
from inventory.services.rack.editing import RemovalReason
from inventory.shop import Shop
from inventory.storage.records import OffcutRecord
from tests.web.sample_pictures import jpeg_file, text_file
from tests.web.visitor import HttpClient

CODE = "0000011"
PAGE = "/t/0000011"


@pytest.fixture
def piece(shop: Shop) -> OffcutRecord:
    return tagging.tag(shop, Offcut(inches("20"), inches("3"), inches("1"), "ash"), code=CODE)


def add(visitor: HttpClient, *photos: object) -> tuple[int, str]:
    answer = visitor.post(f"{PAGE}/photos", {"photo": list(photos)}, page=PAGE, content_type="multipart/form-data")
    return answer.status_code, unescape(answer.text)


def test_photos_are_added_and_the_first_stays_first(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    assert add(visitor, jpeg_file("face.jpg", colour="tan"))[0] == 303
    assert add(visitor, jpeg_file("end.jpg", colour="navy"), jpeg_file("edge.jpg", colour="teal"))[0] == 303
    photos = queries.record(shop, CODE).photos
    assert len(photos) == 3
    page = visitor.get(PAGE).text
    assert f'src="/photos/{photos[0].digest}/full.jpg"' in page
    assert f'src="/photos/{photos[1].digest}/thumb.jpg"' in page


def test_a_photo_more_counts_even_on_a_page_that_is_out_of_date(
    visitor: HttpClient, shop: Shop, piece: OffcutRecord
) -> None:
    token = visitor.token(PAGE)
    editing.change(shop, CODE, piece.version, Offcut(inches("20"), inches("3"), inches("1"), "elm"))
    answer = visitor.client.post(f"{PAGE}/photos", data={"csrf_token": token, "photo": jpeg_file()})
    assert answer.status_code == 303
    assert len(queries.record(shop, CODE).photos) == 1


def test_a_file_that_is_no_picture_is_reported_and_the_good_one_beside_it_is_kept(
    visitor: HttpClient, shop: Shop, piece: OffcutRecord
) -> None:
    status, page = add(visitor, text_file(), jpeg_file())
    assert status == 422
    assert '"notes.txt" is not a picture that can be read here. Send a JPEG, PNG, WebP, HEIC or AVIF.' in page
    assert len(queries.record(shop, CODE).photos) == 1


def test_no_photo_at_all_is_reported(visitor: HttpClient, piece: OffcutRecord) -> None:
    status, page = add(visitor)
    assert status == 422
    assert "No photo was chosen. Take one or choose one, then send it." in page


def test_another_photo_can_be_shown_first_and_one_removed(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    add(visitor, jpeg_file(colour="tan"), jpeg_file(colour="navy"))
    record = queries.record(shop, CODE)
    first, second = record.photos
    visitor.post(f"{PAGE}/photos/{second.id}/main", {"version": record.version}, page=PAGE)
    record = queries.record(shop, CODE)
    assert [photo.digest for photo in record.photos] == [second.digest, first.digest]
    visitor.post(f"{PAGE}/photos/{first.id}/remove", {"version": record.version}, page=PAGE)
    assert [photo.digest for photo in queries.record(shop, CODE).photos] == [second.digest]
    assert visitor.get(f"/photos/{first.digest}/full.jpg").status_code == 200


def test_a_piece_that_is_gone_offers_no_photo_field(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    editing.remove(shop, CODE, piece.version, RemovalReason.BURNT)
    assert 'type="file"' not in visitor.get(PAGE).text


def test_a_photo_may_be_kept_by_the_browser_for_good(visitor: HttpClient, shop: Shop, piece: OffcutRecord) -> None:
    add(visitor, jpeg_file())
    digest = queries.record(shop, CODE).photos[0].digest
    answer = visitor.get(f"/photos/{digest}/thumb.jpg")
    assert answer.mimetype == "image/jpeg"
    caching = answer.headers["Cache-Control"]
    assert "max-age=31536000" in caching
    assert "immutable" in caching
    assert "private" in caching
    again = visitor.get(f"/photos/{digest}/thumb.jpg", headers={"If-None-Match": answer.headers["ETag"]})
    assert again.status_code == 304


@pytest.mark.parametrize(
    "path",
    [
        f"/photos/{'0' * 64}/full.jpg",
        f"/photos/{'0' * 64}/huge.jpg",
        f"/photos/{'A' * 64}/full.jpg",
        "/photos/..%2f..%2frack.sqlite/full.jpg",
        "/photos/%2e%2e/full.jpg",
        f"/photos/{'0' * 63}./full.jpg",
    ],
)
def test_only_the_digest_of_a_kept_photo_leads_to_a_file(visitor: HttpClient, path: str) -> None:
    assert visitor.get(path).status_code == 404
