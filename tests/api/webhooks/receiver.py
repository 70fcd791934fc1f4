"""A receiver on this machine with a certificate of its own, and the way that leads to it."""

import datetime as dt
import ssl
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from api.webhooks.calling import Way

HOST = "hook.example.test"
URL = f"https://{HOST}/in?shop=1"
Talk = Callable[[BaseHTTPRequestHandler], None]


@dataclass
class Receiver:
    """What was received; ``answer`` is the status that the next calls get."""

    way: Way
    answer: int = 204
    headers: dict[str, str] = field(default_factory=dict)
    got: list[tuple[str, dict[str, str], str]] = field(default_factory=list)
    talk: Talk | None = None


@contextmanager
def receiver(folder: Path, *, host: str = HOST) -> Iterator[Receiver]:
    """Serve https on a port of this machine under the name ``host``."""
    certificate, key = _certificate(folder, host)
    trust = ssl.create_default_context(cafile=str(certificate))
    server = HTTPServer(("127.0.0.1", 0), BaseHTTPRequestHandler)
    own = Receiver(
        Way(
            resolve=lambda _host: ["127.0.0.1"],
            is_public=lambda _address: True,
            port=server.server_port,
            tls=trust,
        )
    )
    server.RequestHandlerClass = _handler(own)
    tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    tls.load_cert_chain(certificate, key)
    server.socket = tls.wrap_socket(server.socket, server_side=True)
    server.handle_error = lambda *_: None  # type: ignore[method-assign] # a broken call is a case here
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield own
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def _handler(own: Receiver) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"])).decode()
            own.got.append((self.path, dict(self.headers), body))
            if own.talk:
                own.talk(self)
                return
            self.send_response(own.answer)
            for name, value in own.headers.items():
                self.send_header(name, value)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *_words: object) -> None:
            """Say nothing."""

    return Handler


def _certificate(folder: Path, host: str) -> tuple[Path, Path]:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, host)])
    now = dt.datetime.now(dt.UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - dt.timedelta(days=1))
        .not_valid_after(now + dt.timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(host)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )
    certificate, private = folder / "own.pem", folder / "own.key"
    certificate.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    private.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    return certificate, private
