package club

import (
	"crypto/ecdh"
	"crypto/hkdf"
	"crypto/hpke"
	"crypto/sha256"
	"errors"
	"fmt"

	"drover/game"
)

// boxing names what a session's token is stretched for to make its box.
const boxing = "drover: a box for this session, version 1"

// Box is a public key that a session's token gives. Whoever has it can lock something up
// for the session, and only the holder of the token can read that: so a job, which knows
// no token, may make a card.
type Box []byte

// Box gives the box of a session.
func (s Secret) Box() (Box, error) {
	key, err := s.boxKey()
	if err != nil {
		return nil, err
	}
	return key.PublicKey().Bytes(), nil
}

func (s Secret) boxKey() (*ecdh.PrivateKey, error) {
	if _, ok := s.Club(); !ok {
		return nil, errors.New("no token to make a box of")
	}
	seed, err := hkdf.Key(sha256.New, []byte(s), nil, boxing, 32)
	if err != nil {
		return nil, fmt.Errorf("make a key of a token: %w", err)
	}
	key, err := ecdh.X25519().NewPrivateKey(seed)
	if err != nil {
		return nil, fmt.Errorf("make a box of a token: %w", err)
	}
	return key, nil
}

// Lock encrypts what only the session behind the box may read (RFC 9180, X25519 with
// HKDF-SHA256 and AES-256-GCM). Club, kind and subject are bound to the result, as Seal
// binds them.
func (b Box) Lock(c game.ClubID, kind string, subject int64, plain []byte) ([]byte, error) {
	key, err := hpke.DHKEM(ecdh.X25519()).NewPublicKey(b)
	if err != nil {
		return nil, fmt.Errorf("take a box: %w", err)
	}
	locked, err := hpke.Seal(key, hpke.HKDFSHA256(), hpke.AES256GCM(), boundTo(c, kind, subject), plain)
	if err != nil {
		return nil, fmt.Errorf("lock a %s: %w", kind, err)
	}
	return locked, nil
}

// Unlock is the reverse of Lock. It fails for another token, kind or subject.
func (s Secret) Unlock(kind string, subject int64, locked []byte) ([]byte, error) {
	own, err := s.boxKey()
	if err != nil {
		return nil, err
	}
	key, err := hpke.NewDHKEMPrivateKey(own)
	if err != nil {
		return nil, fmt.Errorf("take a key: %w", err)
	}
	plain, err := hpke.Open(key, hpke.HKDFSHA256(), hpke.AES256GCM(), s.about(kind, subject), locked)
	if err != nil {
		return nil, fmt.Errorf("unlock a %s: %w", kind, err)
	}
	return plain, nil
}
