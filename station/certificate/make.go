package certificate

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"math/big"
	"net"
	"os"
	"path/filepath"
)

// make makes the station's own certificate, signed by its own key on the curve P-256, which stays the same from one certificate to the next.
func (k *Keeper) make() (tls.Certificate, error) {
	key, keyText, err := k.key()
	if err != nil {
		return tls.Certificate{}, err
	}
	serial, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 127))
	if err != nil {
		return tls.Certificate{}, err
	}
	now := k.now()
	template := x509.Certificate{
		SerialNumber: serial, Subject: pkix.Name{CommonName: "sagitta " + k.names[0]}, NotBefore: now.Add(-backdated), NotAfter: now.Add(lasts),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true,
	}
	for _, name := range k.names {
		if ip := net.ParseIP(name); ip != nil {
			template.IPAddresses = append(template.IPAddresses, ip)
		} else {
			template.DNSNames = append(template.DNSNames, name)
		}
	}
	der, err := x509.CreateCertificate(rand.Reader, &template, &template, key.Public(), key)
	if err != nil {
		return tls.Certificate{}, err
	}
	text := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	if err := write(k.files.Certificate, text, 0o644); err != nil {
		return tls.Certificate{}, err
	}
	return parse(text, keyText)
}

// key is the station's key, made where there is none, and its PEM text.
func (k *Keeper) key() (*ecdsa.PrivateKey, []byte, error) {
	text, err := readFile(k.files.Key)
	if err == nil {
		if block, _ := pem.Decode(text); block != nil {
			var any any
			if any, err = x509.ParsePKCS8PrivateKey(block.Bytes); err == nil {
				if key, ok := any.(*ecdsa.PrivateKey); ok {
					return key, text, nil
				}
			}
		}
		return nil, nil, fmt.Errorf("%s is not the station's key: move it away, and the station makes another at its next start", k.files.Key)
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return nil, nil, err
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, nil, err
	}
	text = pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der})
	return key, text, write(k.files.Key, text, 0o600)
}

// write puts a file in its place whole or not at all, from its first byte on with its rights.
func write(path string, text []byte, mode fs.FileMode) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".tls-*") // 0600
	if err != nil {
		return fmt.Errorf("the station's certificate cannot be kept in %s: %w", path, cause(err))
	}
	_, err = f.Write(text)
	err = errors.Join(err, f.Chmod(mode), f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		_ = os.Remove(f.Name())
		return fmt.Errorf("the station's certificate cannot be kept in %s: %w", path, cause(err))
	}
	return nil
}

// cause is what the file system says of a file in the making, without the temporary path that it had.
func cause(err error) error {
	var at *fs.PathError
	var moved *os.LinkError
	switch {
	case errors.As(err, &at):
		return at.Err
	case errors.As(err, &moved):
		return moved.Err
	}
	return err
}
