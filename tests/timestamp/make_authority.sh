#!/usr/bin/env bash
# Makes an authority for tests in FOLDER with openssl alone: ca.pem and signers under it, one of them
# expired, one without the purpose, one of the years 2024 to 2025; other-ca.pem with a signer of its
# own. Names invented.
set -eu
cd "$1"
cat >authority.cnf <<'CONF'
[ca]
default_ca = issuing
[issuing]
dir = .
database = index.txt
serial = serial
new_certs_dir = .
default_md = sha256
policy = any
unique_subject = no
email_in_dn = no
[any]
organizationName = optional
commonName = supplied
[req]
distinguished_name = name
prompt = no
[name]
O = Invented test authority
CN = Root
[root]
basicConstraints = critical, CA:true
keyUsage = critical, keyCertSign
subjectKeyIdentifier = hash
[stamper]
keyUsage = critical, digitalSignature
extendedKeyUsage = critical, timeStamping
[plain]
keyUsage = critical, digitalSignature
[tsa]
default_tsa = stamps
[stamps]
dir = .
serial = ./tsa-serial
crypto_device = builtin
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256
accuracy = secs:1, millisecs:500
ordering = no
tsa_name = yes
ess_cert_id_chain = no
ess_cert_id_alg = sha256
[fine]
clock_precision_digits = 3
dir = .
serial = ./tsa-serial
crypto_device = builtin
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256
accuracy = secs:1, millisecs:500
ordering = no
tsa_name = yes
ess_cert_id_chain = no
ess_cert_id_alg = sha256
CONF
: >index.txt
echo 01 >serial
echo 01 >tsa-serial

key() { openssl ecparam -name prime256v1 -genkey -noout -out "$1"; }
root() { # NAME SUBJECT
  key "$1.key"
  openssl req -new -key "$1.key" -config authority.cnf -subj "$2" -out "$1.csr"
  openssl ca -batch -notext -selfsign -config authority.cnf -keyfile "$1.key" -extensions root \
    -startdate 20200101000000Z -enddate 20991231235959Z -in "$1.csr" -out "$1.pem"
}
signer() { # NAME CA SUBJECT EXTENSIONS FROM TO
  key "$1.key"
  openssl req -new -key "$1.key" -config authority.cnf -subj "$3" -out "$1.csr"
  openssl ca -batch -notext -config authority.cnf -cert "$2.pem" -keyfile "$2.key" -extensions "$4" \
    -startdate "$5" -enddate "$6" -in "$1.csr" -out "$1.pem"
}
{
  root ca "/O=Invented test authority/CN=Root"
  root other-ca "/O=Another invented authority/CN=Root"
  signer tsa ca "/O=Invented test authority/CN=Stamper" stamper 20200101000000Z 20991231235959Z
  signer other-tsa other-ca "/O=Another invented authority/CN=Stamper" stamper 20200101000000Z 20991231235959Z
  signer expired ca "/O=Invented test authority/CN=Expired stamper" stamper 20200101000000Z 20210101000000Z
  signer past ca "/O=Invented test authority/CN=Past stamper" stamper 20240101000000Z 20250101000000Z
  signer plain ca "/O=Invented test authority/CN=No stamper" plain 20200101000000Z 20991231235959Z
} >make.log 2>&1 || { cat make.log >&2; exit 1; }
