"""Large requests are read only from those who may send what is large."""

from __future__ import annotations

import io

import pytest
from visitors import NOBODY
from werkzeug.datastructures import FileStorage, MultiDict
from werkzeug.test import encode_multipart

LARGE = b"x" * 2_000_000
TAKERS = {
    "teaching.read": ("/teaching/paper/read", "pictures", "I"),
    "certificates.hand_in": ("/certificates/sign-offs/{token}", "picture", "IM"),
    "bank.keep_picture": ("/bank/pictures", "picture", "I"),
    "bank.check_import": ("/bank/import", "bank", "I"),
}


@pytest.mark.parametrize("endpoint", TAKERS)
def test_only_those_a_route_is_for_may_send_it_much(premises, endpoint):
    path, field, takers = TAKERS[endpoint]
    path = path.format(**premises.shop.values.get(endpoint, {}))

    for who in (NOBODY, "L", "I", "M"):
        visitor = premises.visitors[who]
        file = FileStorage(io.BytesIO(LARGE), "large.png")
        sent = MultiDict([("csrf_token", visitor.token), (field, file)])
        boundary, body = encode_multipart(sent)
        kind = f"multipart/form-data; boundary={boundary}"
        headers = {"Cookie": visitor.cookies}
        answer = visitor.client.post(path, data=body, content_type=kind, headers=headers)

        assert (answer.status_code != 413) == (who in takers), (who, answer.status_code)
        assert answer.status_code in {302, 409, 413, 422}, (who, answer.status_code)
    premises.put_back()
