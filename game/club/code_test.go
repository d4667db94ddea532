package club_test

import (
	"strings"
	"testing"
	"time"

	"drover/game/club"

	"github.com/pquerna/otp/totp"
)

// TestCodeHasOneStepOfDrift: the code of this step, of the one before and of the one after
// is good, and no step that is used up (RFC 6238, 5.2).
func TestCodeHasOneStepOfDrift(t *testing.T) {
	t.Parallel()
	f, err := club.NewFactor("maren@havnsund.example")
	if err != nil || len(f.Secret) != 32 || !strings.HasPrefix(f.URL, "otpauth://totp/Drover:maren@havnsund.example?") {
		t.Fatalf("%+v, %v", f, err)
	}
	now := time.Unix(1_800_000_010, 0)
	present := now.Unix() / 30
	for by := int64(-3); by <= 3; by++ {
		code, err := totp.GenerateCode(f.Secret, now.Add(time.Duration(by)*30*time.Second))
		if err != nil {
			t.Fatal(err)
		}
		at, ok := club.Step(f.Secret, " "+code[:3]+" "+code[3:], 0, now)
		if near := by >= -1 && by <= 1; ok != near || ok && at != present+by {
			t.Errorf("%d steps off: %d, %v", by, at, ok)
		}
		if _, ok := club.Step(f.Secret, code, present+by, now); ok {
			t.Errorf("%d steps off: the code is good twice", by)
		}
	}
	if _, ok := club.Step(f.Secret, "", 0, now); ok {
		t.Error("no code at all is good")
	}
}

// TestRecoveryCodes: ten different ones of 80 bits, read as they may be typed.
func TestRecoveryCodes(t *testing.T) {
	t.Parallel()
	codes, seen := club.NewRecoveryCodes(), map[string]bool{}
	for _, c := range codes {
		seen[string(club.RecoveryHash(c))] = true
		if len(strings.ReplaceAll(c, "-", "")) != 16 || club.LooksLikeCode(c) || string(club.RecoveryHash(c)) !=
			string(club.RecoveryHash(" "+strings.ToUpper(strings.ReplaceAll(c, "-", " "))+" ")) {
			t.Errorf("%q", c)
		}
	}
	if len(codes) != 10 || len(seen) != 10 || !club.LooksLikeCode(" 123 456") {
		t.Errorf("%d codes, %d different", len(codes), len(seen))
	}
}

// TestShortPasswordsNeedACode: 8 to 14 characters are enough beside a code only, and never
// one of the 3,000 commonest.
func TestShortPasswordsNeedACode(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		password      string
		beside, alone bool
	}{
		{"vexlamp", false, false}, {"vexlampo", true, false}, {"vexlamp otter", true, false},
		{"vexlamp otter m", true, true}, {"Football1", false, false}, {"iloveyou", false, false},
		{"baseball", false, false}, {"drover12", false, false}, {"12345678", false, false}, {"Havnsund9", false, false},
	} {
		if got := club.WeakBesideCode(c.password, "Havnsund") == ""; got != c.beside {
			t.Errorf("%q beside a code: %v, %s", c.password, got, club.WeakBesideCode(c.password, "Havnsund"))
		}
		if got := club.WeakPassword(c.password, "Havnsund") == ""; got != c.alone {
			t.Errorf("%q alone: %v", c.password, got)
		}
	}
}

// TestVaultNeedsItsKey: what is sealed opens with the same key and about the same alone.
func TestVaultNeedsItsKey(t *testing.T) {
	t.Parallel()
	key := []byte(strings.Repeat("k", 32))
	v, err := club.NewVault(key)
	if err != nil {
		t.Fatal(err)
	}
	other, _ := club.NewVault([]byte(strings.Repeat("o", 32)))
	sealed, err := v.Seal("factor 1", []byte("secret"))
	if err != nil || strings.Contains(string(sealed), "secret") {
		t.Fatal(err)
	}
	if got, err := v.Unseal("factor 1", sealed); err != nil || string(got) != "secret" {
		t.Errorf("%q, %v", got, err)
	}
	for name, try := range map[string]func() ([]byte, error){
		"another key":   func() ([]byte, error) { return other.Unseal("factor 1", sealed) },
		"another about": func() ([]byte, error) { return v.Unseal("factor 2", sealed) },
		"no key":        func() ([]byte, error) { return club.Vault{}.Unseal("factor 1", sealed) },
	} {
		if got, err := try(); err == nil {
			t.Errorf("%s opens it: %q", name, got)
		}
	}
	if _, err := club.NewVault(key[:31]); err == nil {
		t.Error("a key of 31 bytes is taken")
	}
}
