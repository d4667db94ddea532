package club_test

import (
	"strings"
	"testing"
	"time"
	"unicode"

	"drover/game/club"
)

// TestNamesThatAreRefused has a row for each sort of character that is never kept,
// and for names that show nothing.
func TestNamesThatAreRefused(t *testing.T) {
	t.Parallel()
	for name, c := range map[string][2]string{
		"a control character":          {"Il\x00se", "on one line"},
		"the end of a line, C1":        {"Il\u0085se", "on one line"},
		"a line separator":             {"Il\u2028se", "on one line"},
		"a paragraph separator":        {"Il\u2029se", "on one line"},
		"an embedding":                 {"\u202aIlse\u202c", "direction of writing"},
		"an override":                  {"Il\u202ees", "direction of writing"},
		"an isolate":                   {"Il\u2067se\u2069", "direction of writing"},
		"the first strong isolate":     {"\u2068Ilse", "direction of writing"},
		"a mark from left to right":    {"Ilse\u200e", "direction of writing"},
		"a mark from right to left":    {"Ilse\u200f", "direction of writing"},
		"an Arabic letter mark":        {"\u061cIlse", "direction of writing"},
		"private use":                  {"Ilse \ue000", "not every device"},
		"private use, far":             {"Ilse \U00100000", "not every device"},
		"not assigned":                 {"Ilse \u0378", "not every device"},
		"no character at all":          {"Ilse \uffff", "not every device"},
		"unreadable":                   {"Il\xffse", "cannot be read"},
		"a soft hyphen":                {"Il\u00adse", "cannot be seen"},
		"a zero-width space":           {"Il\u200bse", "cannot be seen"},
		"a word joiner":                {"Il\u2060se", "cannot be seen"},
		"a byte order mark":            {"\ufeffIlse", "cannot be seen"},
		"a grapheme joiner":            {"Il\u034fse", "cannot be seen"},
		"a letter drawn as nothing":    {"\u3164", "cannot be seen"},
		"letters of flags without one": {"Ilse\U000e0067\U000e007f", "cannot be seen"},
		"a mark alone":                 {"\u0301", "that can be seen"},
		"marks and a space":            {"\u0301 \u0308", "that can be seen"},
		"a blank sign":                 {"\u2800", "that can be seen"},
		"a variation selector alone":   {"\ufe0f", "that can be seen"},
		"nothing but joiners":          {"\u200d\u200c", "Please write a name"},
		"white space of other scripts": {"\u3000\u00a0\u2003", "Please write a name"},
	} {
		_, err := club.ValidateName("name", c[0])
		p := marked(t, err)
		if !strings.Contains(p["name"], c[1]) || !strings.HasSuffix(p["name"], ".") {
			t.Errorf("%s: %q, want %q", name, p["name"], c[1])
		}
	}
}

// TestEveryTextIsHeldToTheRule: no field of one line lets an override through.
func TestEveryTextIsHeldToTheRule(t *testing.T) {
	t.Parallel()
	const turned = "e\u202eslI"
	n := club.NewClub{Club: turned, Name: turned, Email: turned + "@c.example", Password: "a field of heather",
		Welfare: turned, Contact: turned, Self: true}
	if p := marked(t, n.Validate()); len(p) != 5 {
		t.Errorf("a club: %v", p)
	}
	c := club.NewCoach{Name: turned, Email: turned + "@c.example", Password: "a field of heather"}
	if p := marked(t, c.Validate("Ferry Lane")); len(p) != 2 {
		t.Errorf("a coach: %v", p)
	}
	s := club.NewStudent{Name: turned, ConsentBy: turned, ConsentOn: time.Now(), Consent: true}
	if p := marked(t, s.Validate(time.Now())); len(p) != 2 {
		t.Errorf("a student: %v", p)
	}
	d := aDrill()
	d.Name = turned
	if p := marked(t, d.Validate()); len(p) != 1 {
		t.Errorf("a drill: %v", p)
	}
}

// TestNamesThatAreKept: names of many scripts come through as they were typed,
// with joiners where the script needs them and without them elsewhere.
func TestNamesThatAreKept(t *testing.T) {
	t.Parallel()
	const scotland = "🏴\U000e0067\U000e0062\U000e0073\U000e0063\U000e0074\U000e007f"
	for typed, want := range map[string]string{
		"Juniper": "Juniper", "  Hanne \n Marie\t": "Hanne Marie", "Ünal-O'Shea": "Ünal-O'Shea", "Zoe\u0308": "Zoe\u0308",
		"ليلى": "ليلى", "小明": "小明", "7": "7", "\u0600\u0661": "\u0600\u0661",
		"علی\u200cرضا":        "علی\u200cرضا",       // Persian: two parts that do not join
		"شری\u0650\u200cرام":  "شری\u0650\u200cرام", // a vowel sign before it
		"क्\u200dष":           "क्\u200dष",          // Hindi: half a letter
		"ക്\u200d":            "ക്",                 // at the end it does nothing here
		"Ju\u200dni\u200cper": "Juniper",            // Latin letters do not join
		"\u200dJuniper\u200c": "Juniper",            // nor does an end
		"A \u200c B":          "A B",                // nor a space
		"👩\u200d🌾":            "👩\u200d🌾",           // a farmer
		"👩🏽\u200d🌾 Bo":        "👩🏽\u200d🌾 Bo",       // of another colour
		"🏳\ufe0f\u200d🌈":      "🏳\ufe0f\u200d🌈",     // a flag
		"👩\u200cBo\u200d":     "👩Bo",                // keeps nothing apart
		scotland:              scotland,
	} {
		if got, err := club.ValidateName("name", typed); err != nil || got != want {
			t.Errorf("%q became %q, want %q: %v", typed, got, want, err)
		}
	}
}

// TestSameName: names that a reader may take for one another, and some that only
// look near.
func TestSameName(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{"Juniper", "JUNIPER", true}, {"Juniper", "Ｊｕｎｉｐｅｒ", true}, {"Zoë", "Zoe\u0308", true}, {"Strauß", "STRAUSS", true},
		{"Ida", "ida", true},
		{"علی\u200cرضا", "علیرضا", true}, {"Bo ❤", "Bo ❤\ufe0f", true}, {"ﬁnn", "Finn", true}, {"ΣΟΦΟΣ", "σοφος", true},
		{"Juniper", "Juniper B", false}, {"Zoë", "Zoe", false}, {"Bo", "Во", false},
	} {
		if got := club.SameName(c.a) == club.SameName(c.b); got != c.same {
			t.Errorf("%q and %q: %v", c.a, c.b, got)
		}
	}
}

// FuzzName: whatever is let through shows something, holds none of the refused
// characters, and stays as it is when it is looked at again.
func FuzzName(f *testing.F) {
	for _, s := range []string{"Juniper", "a\u202eb", "\u0301", "علی\u200cرضا", "👩\u200d🌾", "\u200d", "a\u2028b", "\u3164",
		"x\ue000", "\xff", "  a  "} {
		f.Add(s)
	}
	never := []*unicode.RangeTable{unicode.Cc, unicode.Co, unicode.Cn, unicode.Cs, unicode.Zl, unicode.Zp,
		unicode.Bidi_Control}
	seen := func(r rune) bool { return unicode.IsGraphic(r) && !unicode.In(r, unicode.M, unicode.Z) }
	f.Fuzz(func(t *testing.T, typed string) {
		name, err := club.ValidateName("name", typed)
		if err != nil {
			return
		}
		if strings.ContainsFunc(name, func(r rune) bool { return unicode.In(r, never...) }) {
			t.Errorf("%q holds what is refused", name)
		}
		if !strings.ContainsFunc(name, seen) {
			t.Errorf("%q shows nothing", name)
		}
		if again, err := club.ValidateName("name", name); err != nil || again != name {
			t.Errorf("%q is %q when it is looked at again: %v", name, again, err)
		}
		if key := club.SameName(name); key == "" || club.SameName(key) != key {
			t.Errorf("%q is the same name as %q, which is the same as %q", name, key, club.SameName(key))
		}
	})
}
