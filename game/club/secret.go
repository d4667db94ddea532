package club

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strconv"
	"strings"

	"drover/game"

	"golang.org/x/crypto/argon2"
)

// Secret is a token that opens something: "<club>.<random>", 256 bits. It is
// shown once; only its hash is kept.
type Secret string

// NewSecret makes a token of a club.
func NewSecret(c game.ClubID) Secret {
	var b [32]byte
	_, _ = rand.Read(b[:]) // never fails since Go 1.24
	return Secret(strconv.FormatInt(int64(c), 10) + "." + base64.RawURLEncoding.EncodeToString(b[:]))
}

// Club reads the club from a token; ok is false for anything that is no token.
func (s Secret) Club() (game.ClubID, bool) {
	head, tail, found := strings.Cut(string(s), ".")
	n, err := strconv.ParseInt(head, 10, 64)
	return game.ClubID(n), found && err == nil && n >= 0 && len(tail) == 43 && len(s) < 80
}

// Hash is what is stored of a token.
func (s Secret) Hash() []byte {
	h := sha256.Sum256([]byte(s))
	return h[:]
}

// Argon2id parameters: the least that OWASP's password storage guidance of
// 2023 names for this memory (19 MiB, two passes, one lane).
const (
	passes  = 2
	memory  = 19 * 1024 // KiB
	lanes   = 1
	keySize = 32
)

// slots caps how many argon2 computations run at once: each takes 19 MiB and
// tens of milliseconds of a core.
var slots = make(chan struct{}, 2)

func argon(secret string, salt []byte) []byte {
	slots <- struct{}{}
	defer func() { <-slots }()
	return argon2.IDKey([]byte(secret), salt, passes, memory, lanes, keySize)
}

// HashPassword makes the stored form of a password, in the usual encoded form.
func HashPassword(password string) string {
	var salt [16]byte
	_, _ = rand.Read(salt[:])
	enc := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, lanes,
		enc.EncodeToString(salt[:]), enc.EncodeToString(argon(password, salt[:])))
}

// nobody is a stored form that no password matches; checking it takes as long
// as checking a real one.
var nobody = HashPassword(string(NewSecret(0)))

// CheckPassword compares a password with its stored form in constant time. An
// empty stored form costs the same time and never matches.
func CheckPassword(stored, password string) bool {
	real := stored != ""
	if !real {
		stored = nobody
	}
	parts := strings.Split(stored, "$")
	if len(parts) != 6 {
		return false
	}
	salt, err := base64.RawStdEncoding.DecodeString(parts[4])
	if err != nil {
		return false
	}
	want, err := base64.RawStdEncoding.DecodeString(parts[5])
	if err != nil {
		return false
	}
	return subtle.ConstantTimeCompare(argon(password, salt), want) == 1 && real
}

// common are passwords that everybody tries first, of the length that passes
// (common practice; OWASP ASVS 5.0, 6.2.4).
var common = []string{
	"passwordpassword", "password12345678", "123456789012345", "1234567890123456", "qwertyuiopasdfg", "qwertyuiop123456",
	"aaaaaaaaaaaaaaa", "111111111111111", "letmeinletmein1", "iloveyouiloveyou", "chesschesschess", "droverdroverdrover",
}

// WeakPassword says what is wrong with a new password, or nothing.
func WeakPassword(p string) string {
	n := len([]rune(p))
	switch {
	case n < 15:
		return fmt.Sprintf("Please use at least 15 characters: a few words do well. This has %d.", n)
	case n > 200:
		return "Please use at most 200 characters."
	}
	low := strings.ToLower(p)
	for _, c := range common {
		if low == c {
			return "This is one of the first passwords that anybody tries. Choose another."
		}
	}
	if strings.Count(low, low[:1]) == len(low) {
		return "Please use more than one letter."
	}
	return ""
}

// Card is a student's sign-in card. Its secrets are shown when it is made, for a
// few minutes, and never again.
type Card struct {
	Student Person
	Token   Secret
	Words   [4]string
}

// Link is a guardian's private link. Its token is shown when it is made.
type Link struct {
	Guardian game.PersonID
	Token    Secret
}

// NewCard makes a card for a student.
func NewCard(p Person) Card {
	c := Card{Student: p, Token: NewSecret(p.Club)}
	var b [8]byte
	_, _ = rand.Read(b[:])
	for i := range c.Words {
		c.Words[i] = words[(int(b[2*i])<<8|int(b[2*i+1]))%len(words)]
	}
	return c
}

// PhraseHash is what is stored of a card's number and words. Four words are 44
// bits, too few for a plain hash, so they go through argon2id first, with the
// number as salt; guessing on the site is throttled.
func PhraseHash(number string, phrase [4]string) []byte {
	for i, w := range phrase {
		phrase[i] = strings.ToLower(strings.TrimSpace(w))
	}
	salt := sha256.Sum256([]byte("drover card " + strings.TrimSpace(number)))
	h := sha256.Sum256(argon(strings.Join(phrase[:], " "), salt[:16]))
	return h[:]
}

// Lookup is the hash of a thing that sign-in attempts are counted by: a card's
// number, an e-mail address, a network.
func Lookup(kind, value string) []byte {
	h := sha256.Sum256([]byte(kind + "\x00" + strings.ToLower(strings.TrimSpace(value))))
	return h[:]
}
