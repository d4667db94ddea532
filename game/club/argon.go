package club

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"

	"drover/game"

	"golang.org/x/crypto/argon2"
)

// Argon2id parameters: the least that OWASP's password storage guidance of
// 2023 names for this memory (19 MiB, two passes, one lane).
const (
	passes  = 2
	memory  = 19 * 1024 // KiB
	lanes   = 1
	keySize = 32
)

// The queues in which a computation of argon2 waits for its turn, since each takes
// 19 MiB and tens of milliseconds of a core. Known is for people whom we know
// already (a signed-in person, or a browser in which this person has signed in
// before), so that a crowd of strangers does not stand in their way.
var (
	Strangers = game.NewQueue(2, 8, crowd)
	Known     = game.NewQueue(1, 8, crowd)
)

const crowd = "Very many are signing in just now. Wait half a minute, then try once more."

func argon(ctx context.Context, q *game.Queue, secret string, salt []byte) ([]byte, error) {
	leave, err := q.Enter(ctx)
	if err != nil {
		return nil, err
	}
	defer leave()
	return argon2.IDKey([]byte(secret), salt, passes, memory, lanes, keySize), nil
}

// HashPassword makes the stored form of a password, in the usual encoded form.
func HashPassword(ctx context.Context, q *game.Queue, password string) (string, error) {
	var salt [16]byte
	_, _ = rand.Read(salt[:]) // never fails since Go 1.24
	key, err := argon(ctx, q, password, salt[:])
	return encoded(salt[:], key), err
}

func encoded(salt, key []byte) string {
	enc := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, lanes,
		enc.EncodeToString(salt), enc.EncodeToString(key))
}

// nobody is a stored form that no password matches; checking it takes as long
// as checking a real one.
var nobody = encoded(make([]byte, 16), make([]byte, keySize))

// VerifyPassword compares a password with its stored form in constant time. An
// empty stored form costs the same time and never matches.
func VerifyPassword(ctx context.Context, q *game.Queue, stored, password string) (bool, error) {
	real := stored != ""
	if !real {
		stored = nobody
	}
	salt, want, ok := decoded(stored)
	if !ok {
		return false, nil
	}
	key, err := argon(ctx, q, password, salt)
	return subtle.ConstantTimeCompare(key, want) == 1 && real, err
}

// decoded takes a stored form apart.
func decoded(stored string) (salt, key []byte, ok bool) {
	parts := strings.Split(stored, "$")
	if len(parts) != 6 {
		return nil, nil, false
	}
	salt, err := base64.RawStdEncoding.DecodeString(parts[4])
	if err != nil {
		return nil, nil, false
	}
	key, err = base64.RawStdEncoding.DecodeString(parts[5])
	return salt, key, err == nil
}

// PhraseHash is what is stored of a card's number and words. Four words are 44
// bits, too few for a plain hash, so they go through argon2id first, with the
// number as salt; guessing on the site is throttled.
func PhraseHash(ctx context.Context, q *game.Queue, number string, phrase [4]string) ([]byte, error) {
	for i, w := range phrase {
		phrase[i] = strings.ToLower(strings.TrimSpace(w))
	}
	salt := sha256.Sum256([]byte("drover card " + strings.TrimSpace(number)))
	key, err := argon(ctx, q, strings.Join(phrase[:], " "), salt[:16])
	h := sha256.Sum256(key)
	return h[:], err
}
