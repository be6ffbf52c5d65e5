"""A OneRoster archive for tests: sound and unsound rows in small tables."""

from __future__ import annotations

import io
import zipfile

# Tables as in the OneRoster 1.2 CSV Binding of 1EdTech (column names from memory).
USERS = """sourcedId,status,dateLastModified,enabledUser,username,givenName,familyName
u1,active,2026-01-01,true,ana.invented,Ana,Invented
u2,active,2026-01-01,true,ida.invented,Ida,Invented
u3,active,2026-01-01,false,off.invented,Off,Invented
u4,active,2026-01-01,true,,Nameless,Invented
u5,active,2026-01-01,true,lone.invented,Lone,Invented
"""
CLASSES = """sourcedId,status,dateLastModified,title,courseSourcedId,schoolSourcedId
c1,active,2026-01-01,Evening  class,k1,s1
"""
ENROLLMENTS = """sourcedId,status,dateLastModified,classSourcedId,schoolSourcedId,userSourcedId,role
e1,active,2026-01-01,c1,s1,u1,student
e2,active,2026-01-01,c1,s1,u2,teacher
e3,active,2026-01-01,c1,s1,u3,student
e4,active,2026-01-01,c1,s1,u4,student
e5,active,2026-01-01,c9,s1,u1,student
e6,active,2026-01-01,c1,s1,u9,student
e7,tobedeleted,2026-01-01,c1,s1,u2,student
e8,active,2026-01-01,c1,s1,u2,proctor
"""
MANIFEST = "propertyName,value\nmanifest.version,1.0\noneroster.version,1.2\n"


def archive(**changed: str | None) -> bytes:
    files = {
        "manifest.csv": MANIFEST,
        "users.csv": USERS,
        "classes.csv": CLASSES,
        "enrollments.csv": ENROLLMENTS,
        "orgs.csv": "sourcedId\n",
    } | {f"{name}.csv": text for name, text in changed.items()}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name, text in files.items():
            if text is not None:
                made.writestr(name, text)
    return out.getvalue()
