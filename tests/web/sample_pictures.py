"""Pictures as a phone sends them with a form."""

from collections.abc import Mapping
from io import SEEK_CUR, SEEK_END, SEEK_SET, BytesIO, RawIOBase

from PIL import Image

UploadFile = tuple[BytesIO, str]


def jpeg_file(name: str = "offcut.jpg", size: tuple[int, int] = (64, 48), colour: str = "peru") -> UploadFile:
    """A small JPEG; another color makes another photo."""
    stream = BytesIO()
    Image.new("RGB", size, colour).save(stream, "JPEG")
    return BytesIO(stream.getvalue()), name


def text_file(name: str = "notes.txt") -> UploadFile:
    """A file that is no picture."""
    return BytesIO(b"two strips of ash, one of cherry"), name


class HugeUpload(RawIOBase):
    """A form with one huge file behind its fields, made while it is read: it takes no room itself."""

    CONTENT_TYPE = "multipart/form-data; boundary=sawdust"

    def __init__(self, fields: Mapping[str, str], name: str, filename: str, size: int) -> None:
        typed = "".join(
            f'--sawdust\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n'
            for key, value in fields.items()
        )
        disposition = f'Content-Disposition: form-data; name="{name}"; filename="{filename}"'
        self._head = f"{typed}--sawdust\r\n{disposition}\r\nContent-Type: image/jpeg\r\n\r\n".encode()
        self._foot = b"\r\n--sawdust--\r\n"
        self._foot_at = len(self._head) + size
        self._end = self._foot_at + len(self._foot)
        self._place = 0

    def readable(self) -> bool:
        return True

    def tell(self) -> int:
        return self._place

    def seek(self, place: int, whence: int = SEEK_SET) -> int:
        self._place = {SEEK_SET: 0, SEEK_CUR: self._place, SEEK_END: self._end}[whence] + place
        return self._place

    def readinto(self, buffer: bytearray) -> int:  # type: ignore[override]
        if self._place < len(self._head):
            part = self._head[self._place : self._place + len(buffer)]
        elif self._place < self._foot_at:
            part = bytes(min(len(buffer), self._foot_at - self._place))
        else:
            part = self._foot[self._place - self._foot_at :][: len(buffer)]
        buffer[: len(part)] = part
        self._place += len(part)
        return len(part)
