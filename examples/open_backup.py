#!/usr/bin/env python3
"""Opens an encrypted backup without Lintel: writes the tar archive that is inside to standard output.

    LINTEL_PASSPHRASE=... python3 open_backup.py skarnholm.lintel-backup | tar -tv

Needs Python and libsodium (Debian: libsodium23). Follows docs/privacy-and-security.md and nothing else,
so that a backup can be read when there is no Lintel any more.
"""
import ctypes
import ctypes.util
import hashlib
import os
import struct
import sys

EXTRA = 17  # bytes by which a piece grows when it is sealed
FINAL = 3


def open_backup(source, passphrase, out):
    sodium = ctypes.CDLL(ctypes.util.find_library("sodium") or "libsodium.so.23")
    if sodium.sodium_init() < 0:
        sys.exit("libsodium does not start")
    header = source.read(80)
    if header[:8] != b"LNTLSEAL" or len(header) < 80:
        sys.exit("not an encrypted file of Lintel")
    version, piece_bytes, passes, memory_kib = struct.unpack("<IIII", header[8:24])
    if version != 1:
        sys.exit(f"version {version} is not known here")
    if hashlib.blake2b(header[:64], digest_size=16).digest() != header[64:]:
        sys.exit("the header is damaged")
    key = ctypes.create_string_buffer(32)
    argon2id13 = 2
    if sodium.crypto_pwhash(key, ctypes.c_ulonglong(32), passphrase, ctypes.c_ulonglong(len(passphrase)),
                            header[24:40], ctypes.c_ulonglong(passes), ctypes.c_size_t(memory_kib * 1024),
                            ctypes.c_int(argon2id13)) != 0:
        sys.exit("not enough memory for the key")
    state = ctypes.create_string_buffer(sodium.crypto_secretstream_xchacha20poly1305_statebytes())
    sodium.crypto_secretstream_xchacha20poly1305_init_pull(state, header[40:64], key)

    def pull(sealed, additional):
        plain = ctypes.create_string_buffer(max(len(sealed) - EXTRA, 1))
        length, tag = ctypes.c_ulonglong(), ctypes.c_ubyte()
        status = sodium.crypto_secretstream_xchacha20poly1305_pull(
            state, plain, ctypes.byref(length), ctypes.byref(tag), sealed, ctypes.c_ulonglong(len(sealed)),
            additional, ctypes.c_ulonglong(len(additional)))
        return status == 0, plain.raw[:length.value], tag.value

    if not pull(source.read(EXTRA), header)[0]:
        sys.exit("wrong passphrase")
    while True:
        sealed = source.read(piece_bytes + EXTRA)
        genuine, plain, tag = pull(sealed, b"") if len(sealed) >= EXTRA else (False, b"", 0)
        if not genuine:
            sys.exit("damaged or cut off: throw away what was written")
        out.write(plain)
        if tag == FINAL:
            break
    if source.read(1):
        sys.exit("something stands behind the end: throw away what was written")


if __name__ == "__main__":
    if len(sys.argv) != 2 or "LINTEL_PASSPHRASE" not in os.environ:
        sys.exit(__doc__)
    with open(sys.argv[1], "rb") as backup:
        open_backup(backup, os.environb[b"LINTEL_PASSPHRASE"], sys.stdout.buffer)
