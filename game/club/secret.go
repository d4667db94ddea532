package club

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"strconv"
	"strings"

	"drover/game"
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

// Lookup is the hash of a thing that sign-in attempts are counted by: a card's
// number, an e-mail address, a network.
func Lookup(kind, value string) []byte {
	h := sha256.Sum256([]byte(kind + "\x00" + strings.ToLower(strings.TrimSpace(value))))
	return h[:]
}
