#!/usr/bin/env bash
# Makes in FOLDER, with openssl alone: ca.pem, server.pem for 127.0.0.1 and localhost under it,
# elsewhere.pem for another name under it, other-ca.pem. Names invented.
set -eu
cd "$1"
key() { openssl ecparam -name prime256v1 -genkey -noout -out "$1"; }
root() { # NAME SUBJECT
  key "$1.key"
  openssl req -x509 -new -key "$1.key" -days 3650 -subj "$2" -out "$1.pem" \
    -addext "basicConstraints=critical,CA:true" -addext "keyUsage=critical,keyCertSign"
}
server() { # NAME NAMES
  key "$1.key"
  openssl req -new -key "$1.key" -subj "/CN=$1" -out "$1.csr"
  printf 'subjectAltName=%s\nextendedKeyUsage=serverAuth\n' "$2" >"$1.ext"
  openssl x509 -req -in "$1.csr" -CA ca.pem -CAkey ca.key -CAcreateserial -days 3650 -extfile "$1.ext" -out "$1.pem"
}
{
  root ca "/O=Invented delivery test/CN=Root"
  root other-ca "/O=Another invented test/CN=Root"
  server server "IP:127.0.0.1,DNS:localhost"
  server elsewhere "DNS:elsewhere.example"
} >make.log 2>&1 || { cat make.log >&2; exit 1; }
