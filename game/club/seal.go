package club

import (
	"crypto/cipher"
	"errors"
	"fmt"

	"drover/game"
)

// sealing names what a session's token is stretched for, so that no other use of
// it can ever give the same key.
const sealing = "drover: shown to this session, version 1"

// Seal encrypts what only the holder of a session's token may read again: with
// AES-256-GCM (NIST SP 800-38D) under a key that HKDF (RFC 5869) derives from
// the token. Kind and subject are bound to the result, so that no row can stand
// in for another.
func (s Secret) Seal(kind string, subject int64, plain []byte) ([]byte, error) {
	aead, err := s.sealer()
	if err != nil {
		return nil, err
	}
	sealed := aead.Seal(nil, nil, plain, s.about(kind, subject)) //nolint:gosec // it puts a random nonce in front
	return sealed, nil
}

// Unseal is the reverse of Seal. It fails for another token, kind or subject.
func (s Secret) Unseal(kind string, subject int64, sealed []byte) ([]byte, error) {
	aead, err := s.sealer()
	if err != nil {
		return nil, err
	}
	plain, err := aead.Open(nil, nil, sealed, s.about(kind, subject))
	if err != nil {
		return nil, fmt.Errorf("unseal a %s: %w", kind, err)
	}
	return plain, nil
}

func (s Secret) sealer() (cipher.AEAD, error) {
	if _, ok := s.Club(); !ok {
		return nil, errors.New("no token to seal under")
	}
	return sealerOf([]byte(s), sealing)
}

// about is what is bound to a sealed text: club, kind and subject.
func (s Secret) about(kind string, subject int64) []byte {
	c, _ := s.Club() // sealer has looked
	return boundTo(c, kind, subject)
}

func boundTo(c game.ClubID, kind string, subject int64) []byte {
	return fmt.Appendf(nil, "%d %s %d", c, kind, subject)
}
