package club_test

import (
	"bytes"
	"testing"

	"drover/game/club"
)

// TestSeal: a sealed text opens with the same token, kind and subject, and with
// nothing else; the same text is never sealed alike twice.
func TestSeal(t *testing.T) {
	t.Parallel()
	token, plain := club.NewSecret(3), []byte("otter lamp field moon")
	sealed, err := token.Seal("card", 7, plain)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := token.Unseal("card", 7, sealed); err != nil || !bytes.Equal(got, plain) {
		t.Errorf("%q, %v", got, err)
	}
	again, err := token.Seal("card", 7, plain)
	if err != nil || bytes.Equal(again, sealed) || bytes.Contains(sealed, []byte("otter")) {
		t.Errorf("sealed %x, then %x, %v", sealed, again, err)
	}
	broken := bytes.Clone(sealed)
	broken[len(broken)-1] ^= 1
	for name, c := range map[string]struct {
		token   club.Secret
		kind    string
		subject int64
		sealed  []byte
	}{
		"another token": {club.NewSecret(3), "card", 7, sealed}, "another club": {"4" + token[1:], "card", 7, sealed},
		"no token":     {"", "card", 7, sealed},
		"another kind": {token, "link", 7, sealed}, "another subject": {token, "card", 8, sealed},
		"a broken text": {token, "card", 7, broken}, "half a text": {token, "card", 7, sealed[:20]},
		"nothing": {token, "card", 7, nil},
	} {
		if got, err := c.token.Unseal(c.kind, c.subject, c.sealed); err == nil {
			t.Errorf("%s opened it: %q", name, got)
		}
	}
	if _, err := club.Secret("").Seal("card", 7, plain); err == nil {
		t.Error("sealed under no token")
	}
}
