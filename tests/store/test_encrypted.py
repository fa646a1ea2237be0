"""Over a network the line is encrypted and the store's name verified, or nothing is said."""

from __future__ import annotations

import os
import shutil
import socket
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from companion.store.connecting import NotReached
from companion.store.migrating import migrate
from companion.store.shipping import ship
from tests.store.cluster import Cluster, is_there, running_cluster
from tests.store.yard import Box, Yard


def _certificate(folder: Path, name: str) -> tuple[Path, Path]:
    """A certificate for that name that vouches for itself, and its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    certificate, secret = folder / f"{name}.crt", folder / f"{name}.key"
    certificate.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    secret.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    return certificate, secret


def _free_port() -> int:
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        return int(listening.getsockname()[1])


@pytest.fixture
def encrypted(tmp_path: Path) -> Iterator[tuple[Cluster, Box, Path]]:
    if not is_there():
        pytest.skip("no PostgreSQL 15 or later: demo_scripts/set_up.sh dev installs it")
    certificate, key = _certificate(tmp_path, "localhost")
    port = _free_port()
    with running_cluster() as cluster:
        cluster.stop()
        owner = cluster.data.stat()
        for source, name in ((certificate, "server.crt"), (key, "server.key")):
            placed = cluster.data / name
            shutil.copy(source, placed)
            os.chown(placed, owner.st_uid, owner.st_gid)
            placed.chmod(0o600)
        with (cluster.data / "postgresql.conf").open("a") as file:
            file.write(f"ssl = on\nlisten_addresses = '127.0.0.1'\nport = {port}\n")
        cluster.port = port
        cluster.start()
        cluster.make_database("s")
        with cluster.admin("s") as admin:
            migrate(admin)
            box = Yard(cluster, admin, tmp_path).box()
            role = box.password_file.read_text().split(":")[3]
            box.store = f"host=localhost port={port} dbname=s user={role} sslmode=verify-full"
        yield cluster, box, certificate


def test_with_its_name_verified_it_goes(encrypted: tuple[Cluster, Box, Path]) -> None:
    _, box, certificate = encrypted
    store = f"{box.store} sslrootcert={certificate}"
    assert ship(box.record, store, box.password_file).events == 6


def test_a_store_of_another_name_or_vouched_for_by_nobody_is_told_nothing(
    encrypted: tuple[Cluster, Box, Path], tmp_path: Path
) -> None:
    _, box, certificate = encrypted
    other, _ = _certificate(tmp_path, "store.example")
    for wrong in (
        f"{box.store} sslrootcert={other}",
        f"{box.store} sslrootcert=system",
        f"{box.store} sslrootcert={certificate}".replace("host=localhost", "host=127.0.0.1"),
    ):
        with pytest.raises(NotReached, match="certificate"):
            ship(box.record, wrong, box.password_file)
