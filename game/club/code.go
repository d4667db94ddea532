package club

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"
	"github.com/pquerna/otp/totp"
)

// Factor is a second factor that is being set up: a secret that a phone keeps.
type Factor struct {
	Secret string // in letters and figures, to be typed
	URL    string // for a pattern
}

// NewFactor makes a second factor of 160 bits for the coach of an address (RFC 6238).
func NewFactor(email string) (Factor, error) {
	key, err := totp.Generate(totp.GenerateOpts{Issuer: site, AccountName: email})
	if err != nil {
		return Factor{}, fmt.Errorf("make a second factor: %w", err)
	}
	return Factor{Secret: key.Secret(), URL: key.URL()}, nil
}

// step is how long one code is shown.
const step = 30

// Step finds the step of time whose code somebody has typed: this one, the one before or
// the one after, but none up to the last that was used. ok is false where there is none.
func Step(secret, code string, last int64, now time.Time) (at int64, ok bool) {
	code = strings.ReplaceAll(strings.TrimSpace(code), " ", "")
	present := now.Unix() / step
	for at := max(present-1, last+1); at <= present+1; at++ {
		good, err := hotp.ValidateCustom(code, uint64(at), secret, //nolint:gosec // a time after 1970
			hotp.ValidateOpts{Digits: otp.DigitsSix, Algorithm: otp.AlgorithmSHA1})
		if err == nil && good {
			return at, true
		}
	}
	return 0, false
}

// recoveryCodes is how many recovery codes there are.
const recoveryCodes = 10

// NewRecoveryCodes makes codes of 80 bits, in four groups of letters and figures. They
// are shown once; only their hashes are kept.
func NewRecoveryCodes() []string {
	codes := make([]string, recoveryCodes)
	for i := range codes {
		var b [10]byte
		_, _ = rand.Read(b[:]) // never fails since Go 1.24
		text := strings.ToLower(base32.StdEncoding.EncodeToString(b[:]))
		codes[i] = strings.Join([]string{text[:4], text[4:8], text[8:12], text[12:]}, "-")
	}
	return codes
}

// RecoveryHash is what is stored of a recovery code, however it was typed.
func RecoveryHash(code string) []byte {
	letters := strings.Map(func(r rune) rune {
		if r == '-' || r == ' ' {
			return -1
		}
		return r
	}, strings.ToLower(strings.TrimSpace(code)))
	h := sha256.Sum256([]byte("drover recovery " + letters))
	return h[:]
}

// LooksLikeCode says whether what was typed is a phone's code and no recovery code.
func LooksLikeCode(typed string) bool {
	typed = strings.ReplaceAll(strings.TrimSpace(typed), " ", "")
	_, err := strconv.ParseUint(typed, 10, 64)
	return err == nil && len(typed) == 6
}

// ValidateEmail holds a coach's address against its rules.
func ValidateEmail(email string) (string, error) {
	email = strings.TrimSpace(email)
	if !addressed(email) {
		return email, Problems{"email": noAddress}.Err()
	}
	return email, nil
}

// ValidatePassword holds a new password against its rules. coded says whether its coach
// also needs a code to sign in; names are those of club and person.
func ValidatePassword(password string, coded bool, email string, names ...string) error {
	own := slices.Concat(names, addresses(email))
	say := WeakPassword(password, own...)
	if coded {
		say = WeakBesideCode(password, own...)
	}
	if say == "" {
		return nil
	}
	return Problems{"password": say}.Err()
}
