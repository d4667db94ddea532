package club

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/hkdf"
	"crypto/sha256"
	"errors"
	"fmt"
)

// Vault seals what the database must not give away by itself: the secrets of second
// factors. Its key is kept apart from the database.
type Vault struct{ key []byte }

// leastKey is the fewest bytes that make a key.
const leastKey = 32

// NewVault makes a vault of a key of 32 bytes or more.
func NewVault(key []byte) (Vault, error) {
	if len(key) < leastKey {
		return Vault{}, fmt.Errorf("a key has %d bytes or more, not %d", leastKey, len(key))
	}
	return Vault{key}, nil
}

// Seal encrypts a text with AES-256-GCM (NIST SP 800-38D), under a key that HKDF (RFC
// 5869) derives from the vault's. What it is about is bound to the result.
func (v Vault) Seal(about string, plain []byte) ([]byte, error) {
	aead, err := v.sealer()
	if err != nil {
		return nil, err
	}
	sealed := aead.Seal(nil, nil, plain, []byte(about)) //nolint:gosec // it puts a random nonce in front
	return sealed, nil
}

// Unseal is the reverse of Seal. It fails for another key, and about something else.
func (v Vault) Unseal(about string, sealed []byte) ([]byte, error) {
	aead, err := v.sealer()
	if err != nil {
		return nil, err
	}
	plain, err := aead.Open(nil, nil, sealed, []byte(about))
	if err != nil {
		return nil, fmt.Errorf("unseal a %s, perhaps with another key than it was sealed with: %w", about, err)
	}
	return plain, nil
}

func (v Vault) sealer() (cipher.AEAD, error) {
	if len(v.key) == 0 {
		return nil, errors.New("there is no key to seal with")
	}
	return sealerOf(v.key, "drover: second factors, version 1")
}

// sealerOf is the cipher under a key that is derived for one purpose alone.
func sealerOf(secret []byte, purpose string) (cipher.AEAD, error) {
	key, err := hkdf.Key(sha256.New, secret, nil, purpose, 32)
	if err != nil {
		return nil, fmt.Errorf("derive a key: %w", err)
	}
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, fmt.Errorf("take a key: %w", err)
	}
	aead, err := cipher.NewGCMWithRandomNonce(block)
	if err != nil {
		return nil, fmt.Errorf("make a cipher: %w", err)
	}
	return aead, nil
}
