package club_test

import (
	"strings"
	"testing"

	"drover/game/club"
)

// TestValidateTold: nobody who tells something is refused for how it is written: what cannot
// be seen goes, lines stay, and only the length has a limit.
func TestValidateTold(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"": "", "  \r\n ": "", " one\r\ntwo\rthree ": "one\ntwo\nthree", "a\x00b\tc": "a b c", "a\u202eb\u2066c": "abc", "a\ufeffb": "ab",
		"a\u2028b": "a b", "bad \xff byte": "bad  byte", "Ünal 🙂": "Ünal 🙂", "=1+1 <b>": "=1+1 <b>",
		strings.Repeat("é", club.MostTold): strings.Repeat("é", club.MostTold),
	} {
		if got, err := club.ValidateTold(text); err != nil || got != want {
			t.Errorf("%q: %q, %v", text, got, err)
		}
	}
	_, err := club.ValidateTold(strings.Repeat("é", club.MostTold+1))
	if say := marked(t, err)["words"]; !strings.Contains(say, "1000 characters; it had 1001.") {
		t.Errorf("too long: %q", say)
	}
}

// TestNotesAndReasons: a note and a reason say something, and have their length.
func TestNotesAndReasons(t *testing.T) {
	t.Parallel()
	for text, say := range map[string]string{"\n": "write the note", strings.Repeat("x", club.MostNote+1): "to 4000 characters"} {
		if _, err := club.ValidateNote(text); !strings.Contains(marked(t, err)["words"], say) {
			t.Errorf("a note of %d: %v", len(text), err)
		}
	}
	for text, say := range map[string]string{" ": "write the reason", strings.Repeat("x", club.MostReason+1): "to 300 characters", "a\u202eb": "direction"} {
		if _, err := club.ValidateReason(text); !strings.Contains(marked(t, err)["reason"], say) {
			t.Errorf("a reason of %d: %v", len(text), err)
		}
	}
	if got, err := club.ValidateNote(" one\r\n two "); err != nil || got != "one\n two" {
		t.Errorf("%q, %v", got, err)
	}
	if got, err := club.ValidateReason("  to   see "); err != nil || got != "to see" {
		t.Errorf("%q, %v", got, err)
	}
}

// TestSamePerson: case and what a club puts before or after a name do not matter.
func TestSamePerson(t *testing.T) {
	t.Parallel()
	for pair, want := range map[[2]string]bool{
		{"Coach Maren", "maren"}: true, {"Maren, the welfare officer", "Maren"}: true, {"Maren", "Maren Holm"}: false,
		{"", ""}: false, {"Coach", "coach"}: true, {"Ⓜaren", "Maren"}: true, {"Marten", "Maren"}: false,
	} {
		if got := club.SamePerson(pair[0], pair[1]); got != want {
			t.Errorf("%q: %v", pair, got)
		}
	}
}
