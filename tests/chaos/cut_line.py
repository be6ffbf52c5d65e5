"""A line between a program and its PostgreSQL server that can be cut or stopped at any moment."""

from __future__ import annotations

import socket
import threading
from contextlib import suppress
from pathlib import Path

NAME = ".s.PGSQL.5432"  # what a client looks for in the folder it is given
AT_ONCE = 65536  # bytes


class CutLine:
    """Passes bytes on between a socket of its own and the server's, until told otherwise."""

    def __init__(self, folder: Path, server_folder: Path) -> None:
        folder.mkdir()
        self.folder, self._server = folder, str(server_folder / NAME)
        self._pairs: list[tuple[socket.socket, socket.socket]] = []
        self._mutex, self._passing = threading.Lock(), threading.Event()
        self._passing.set()
        self.cut_off = 0
        self._listener = socket.socket(socket.AF_UNIX)
        self._listener.bind(str(folder / NAME))
        self._listener.listen(64)
        threading.Thread(target=self._accept, daemon=True).start()

    def cut(self) -> None:
        """Break every connection there is, whatever is on its way; new ones are let through."""
        with self._mutex:
            pairs, self._pairs = self._pairs, []
        self.cut_off += len(pairs)
        for pair in pairs:
            for end in pair:
                _break(end)

    def stop(self) -> None:
        """Let nothing through any more, without breaking anything."""
        self._passing.clear()

    def go_on(self) -> None:
        self._passing.set()

    def put_away(self) -> None:
        self.go_on()
        self._listener.close()
        self.cut()

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listener.accept()
            except OSError:
                return
            far = socket.socket(socket.AF_UNIX)
            far.connect(self._server)
            with self._mutex:
                self._pairs.append((near, far))
            for source, target in ((near, far), (far, near)):
                threading.Thread(target=self._pass, args=(source, target), daemon=True).start()

    def _pass(self, source: socket.socket, target: socket.socket) -> None:
        with suppress(OSError):
            while data := source.recv(AT_ONCE):
                self._passing.wait()
                target.sendall(data)
        _break(source)
        _break(target)


def _break(end: socket.socket) -> None:
    with suppress(OSError):
        end.shutdown(socket.SHUT_RDWR)
    end.close()
