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
// (OWASP ASVS 5.0, 6.2.4; from memory, no source).
var common = strings.Fields(`
	passwordpassword password12345678 passwordpasswordpassword mypasswordispassword mypasswordismypassword
	thisismypassword thisisapassword thisisnotapassword ihavenopassword ihatepasswords1 iforgotmypassword
	newpassword1234 changemechangeme letmeinletmein1 letmeinletmein letmeinplease123 openthedoorplease
	administrator123 administratoradministrator rootrootrootroot welcomewelcome1 welcometothejungle
	correcthorsebatterystaple thequickbrownfox thequickbrownfoxjumpsoverthelazydog tobeornottobe123
	tobeornottobethatisthequestion maytheforcebewithyou maytheforcebewithme iamyourfatherluke onceuponatime123
	iloveyouiloveyou iloveyouforever iloveyousomuch1 iloveyoualways1 iloveyoumorethananything iloveyou12345678
	ilovemyfamily123 ilovechocolate123 ilovejesuschrist jesuschristislord jesuslovesme1234 godisgood1234567
	manchesterunited liverpoolfootballclub youllneverwalkalone christmas1234567 princessprincess sunshinesunshine
	footballfootball supercalifragilisticexpialidocious everythingisawesome nobodyknowsbutme trustno1trustno1
	abcdefg123456789 a1b2c3d4e5f6g7h8 qwerty1234567890 qwertyuiop123456 1q2w3e4r5t6y7u8i qazwsxedcrfvtgb
	chesschesschess checkmatecheckmate droverdroverdrover
`)

// firstTries are the same as plain has them.
var firstTries = func() map[string]bool {
	all := map[string]bool{}
	for _, c := range common {
		all[string(plain(c))] = true
	}
	return all
}()

// leastPassword is the fewest characters of a password; there is no rule of
// composition (OWASP ASVS 5.0, 6.2.1 and 6.2.5).
const leastPassword = 15

// leastBesideCode is the same where a second factor is on.
const leastBesideCode = 8

// WeakPassword says what is wrong with a new password, or nothing. own are
// names and addresses that others know; the site's own name is always among
// them.
func WeakPassword(p string, own ...string) string {
	return weaker(p, leastPassword, own)
}

// WeakBesideCode is WeakPassword for somebody who also needs a code to sign in: it may be
// shorter, but then it is none of the commonest (OWASP ASVS 5.0, 6.2.4).
func WeakBesideCode(p string, own ...string) string {
	if ShortPassword(p) && commonest[strings.ToLower(p)] {
		return veryCommon
	}
	return weaker(p, leastBesideCode, own)
}

// ShortPassword says whether a password is good only beside a code.
func ShortPassword(p string) bool { return len([]rune(p)) < leastPassword }

// weaker says what is wrong with a new password of at least so many characters.
func weaker(p string, least int, own []string) string {
	n := len([]rune(p))
	switch {
	case n < least:
		return fmt.Sprintf("Please use at least %d characters: a few words do well. This has %d.", least, n)
	case n > 200:
		return fmt.Sprintf("Please use at most 200 characters; this has %d.", n)
	}
	return guessed(p, append(own, site))
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
