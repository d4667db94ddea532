package club_test

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"drover/game"
	"drover/game/club"

	"golang.org/x/crypto/argon2"
)

// list is the file of words as it lies there.
func list(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile("words.txt")
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSuffix(string(text), "\n"), "\n")
}

// TestWords: 2,048 different words that a child can type, 11 bits each, in order
// so that a change shows as one line.
func TestWords(t *testing.T) {
	t.Parallel()
	plain := regexp.MustCompile(`^[a-z]{3,8}$`)
	all := list(t)
	seen := map[string]bool{}
	for _, w := range all {
		if !plain.MatchString(w) || seen[w] {
			t.Errorf("%q is there twice, or is no word of three to eight letters", w)
		}
		seen[w] = true
	}
	if len(seen) != 2048 || !slices.IsSorted(all) {
		t.Errorf("%d words, want 2048, and in order", len(seen))
	}
}

// unfit are words that stood on an earlier list and are hard to read or spell for
// a child of eight, have two usual spellings, or frighten, and words that could hurt whoever is given
// the card.
const unfit = `vintage approve antenna abstract absorb acoustic aerobic abandon abuse kill blood drunk
	color colour gray grey harbor harbour favorite flavor flavour donut doughnut yogurt yoghurt
	betray demise despair horror inmate insane satoshi skull suffer tobacco veteran warfare wreck
	ape boy chimp chubby donkey girl gorilla lazy man monkey pig plump silly woman`

// alike are words that sound the same, at least in one large part of the
// English-speaking world (common practice, no source).
const alike = `air heir, ant aunt, ball bawl, bare bear, be bee, beach beech, bean been, beat beet, berry bury,
	blew blue, board bored, boy buoy, brake break, bread bred, buy by bye, caught court, cent scent sent,
	cereal serial, cheap cheep, chews choose, cord chord, cue queue, dear deer, dew due, draw drawer, ewe you,
	fair fare, farther father, find fined, fir fur, flea flee, flour flower, for four, gate gait, great grate,
	hair hare, hall haul, heal heel, hear here, hole whole, horse hoarse, hour our, key quay, knight night,
	knit nit, knot not, knows nose, lane lain, leak leek, made maid, mail male, main mane, meat meet, 
	missed mist, moose mousse, muscle mussel, none nun, oar ore, one won, pail pale, pain pane, pair pear,
	pause paws, paw poor pour, pawn porn, pea pee, peace piece, peak peek, peel peal, plain plane, plait plate,
	practice practise, rain reign rein, read red, right write, road rode rowed, role roll, root route, rose rows,
	sail sale, sauce source, saw sore, scene seen, sea see, sew so sow, shore sure, side sighed, sight site,
	sleigh slay, some sum, son sun, stair stare, stalk stork, steal steel, storey story, suite sweet, sundae sunday,
	tail tale, tea tee, team teem, their there, threw through, throne thrown, tide tied, to too two, toad towed,
	toe tow, waist waste, wait weight, wander wonder, ware wear where, way weigh, weak week, weather whether,
	which witch, wood would, yoke yolk`

// TestWordsThatAChildKnows: no word that a child stumbles over, no plural beside
// its singular, and of words that sound alike one at most.
func TestWordsThatAChildKnows(t *testing.T) {
	t.Parallel()
	on := map[string]bool{}
	for _, w := range list(t) {
		on[w] = true
	}
	for _, w := range strings.Fields(unfit) {
		if on[w] {
			t.Errorf("%q is no word for a child's card", w)
		}
	}
	for w := range on {
		if on[w+"s"] || on[w+"es"] {
			t.Errorf("%q is there as singular and as plural", w)
		}
	}
	for _, group := range strings.Split(alike, ",") {
		same := slices.DeleteFunc(strings.Fields(group), func(w string) bool { return !on[w] })
		if len(same) > 1 {
			t.Errorf("%v sound alike", same)
		}
	}
}

// TestSecret: 256 random bits behind the club's number; only what has that form
// is a token (OWASP ASVS 5.0, 7.2.3).
func TestSecret(t *testing.T) {
	t.Parallel()
	seen := map[club.Secret]bool{}
	for range 200 {
		s := club.NewSecret(42)
		if c, ok := s.Club(); !ok || c != 42 || seen[s] || len(s) != len("42.")+43 {
			t.Errorf("%q: club %d, %v", s, c, ok)
		}
		seen[s] = true
	}
	tail := strings.Repeat("x", 43)
	for _, bad := range []string{"", ".", "42", "42.", "42.short", "x." + tail, "-1." + tail, "." + tail, "42." +
		tail + "y", "99999999999999999999999." + tail, "42 ." + tail} {
		if _, ok := club.Secret(bad).Club(); ok {
			t.Errorf("%q passes for a token", bad)
		}
	}
	if c, ok := club.Secret("0." + tail).Club(); !ok || c != 0 {
		t.Error("the one-time set-up link belongs to club 0")
	}
}

// TestSecretHash: what is stored is the SHA-256 of the token and not the token.
func TestSecretHash(t *testing.T) {
	t.Parallel()
	// the value of the standard for "abc": FIPS 180-2, appendix B.1
	const want = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if got := hex.EncodeToString(club.Secret("abc").Hash()); got != want {
		t.Errorf("hash of abc: %s", got)
	}
}

// TestPassword: the stored form names argon2id with at least 19 MiB and two
// passes (OWASP ASVS 5.0, 11.4.2), is salted, and only the password opens it.
func TestPassword(t *testing.T) {
	t.Parallel()
	const secret = "a field of heather at dusk"
	stored, again := hash(t, secret), hash(t, secret)
	if !strings.HasPrefix(stored, "$argon2id$v=19$m=19456,t=2,p=1$") || stored == again ||
		strings.Contains(stored, secret) {
		t.Errorf("stored %q and %q", stored, again)
	}
	if !check(t, stored, secret) || !check(t, again, secret) {
		t.Error("the password does not open its stored form")
	}
	for _, other := range []string{"", secret + " ", strings.ToUpper(secret), "another"} {
		if check(t, stored, other) {
			t.Errorf("%q opens it", other)
		}
	}
	for _, broken := range []string{"", "x", "$argon2id$", "$argon2id$v=19$m=1,t=1,p=1$!!$AAAA",
		"$argon2id$v=19$m=1,t=1,p=1$AAAA$!!", stored[:len(stored)-4]} {
		if check(t, broken, secret) {
			t.Errorf("stored form %q lets in", broken)
		}
	}
}

// TestWeakPassword: length and the first tries of everybody, no rules of
// composition (OWASP ASVS 5.0, 6.2).
func TestWeakPassword(t *testing.T) {
	t.Parallel()
	for password, say := range map[string]string{
		"": "at least 15", "fourteen chars": "at least 15", "fifteen charact": "", "five words all in lower": "",
		"ÄÖÜäöüßÄÖÜäöüß": "at least 15", "ÄÖÜäöüßÄÖÜäöüßx": "", "passwordpassword": "first passwords",
		"PasswordPassword": "first passwords",
		"qwertyuiop123456": "first passwords", "Correct Horse Battery Staple 1": "first passwords",
		"zzzzzzzzzzzzzzzzzz": "more than one letter",
		"sixty-four characters or more are taken as they are, up to two hundred of them, blanks too": "",
	} {
		got := club.WeakPassword(password)
		if (say == "") != (got == "") || !strings.Contains(got, say) {
			t.Errorf("%q: %q, want %q", password, got, say)
		}
	}
	if got := club.WeakPassword(strings.Repeat("long ", 50)); !strings.Contains(got, "at most 200") {
		t.Errorf("a long one: %q", got)
	}
}

// TestCard: four words of the list and a token of the club, new each time.
func TestCard(t *testing.T) {
	t.Parallel()
	known := map[string]bool{}
	for _, w := range list(t) {
		known[w] = true
	}
	seen := map[[4]string]bool{}
	used := map[string]bool{}
	for range 300 {
		c := club.NewCard(club.Person{ID: 3, Club: 9, Role: game.Student, Number: 104})
		if of, ok := c.Token.Club(); !ok || of != 9 || seen[c.Words] {
			t.Errorf("card %v of club %d", c.Words, of)
		}
		seen[c.Words] = true
		for _, w := range c.Words {
			if !known[w] {
				t.Errorf("%q is not on the list", w)
			}
			used[w] = true
		}
	}
	// 1,200 draws of 2,048 words leave about 1,140 kept apart by (1-1/n)^k; far
	// fewer would mean that words are drawn unevenly
	if len(used) < 800 {
		t.Errorf("only %d different words in 1,200 draws", len(used))
	}
}

// TestPhraseHash: case and blanks do not matter, number and order do; the words
// go through argon2id before they are hashed.
func TestPhraseHash(t *testing.T) {
	t.Parallel()
	words := [4]string{"heron", "lantern", "moss", "river"}
	want := string(phrase(t, "104", words))
	if got := string(phrase(t, " 104 ", [4]string{"Heron", " lantern", "MOSS ", "river"})); got != want {
		t.Error("case or blanks matter")
	}
	for number, other := range map[string][4]string{
		"105":  words,
		"104":  {"lantern", "heron", "moss", "river"},
		"1040": words,
		"10":   {"4heron", "lantern", "moss", "river"},
	} {
		if string(phrase(t, number, other)) == want {
			t.Errorf("%s %v has the same hash", number, other)
		}
	}
	salt := sha256.Sum256([]byte("drover card 104"))
	key := argon2.IDKey([]byte("heron lantern moss river"), salt[:16], 2, 19*1024, 1, 32)
	if sum := sha256.Sum256(key); string(sum[:]) != want {
		t.Error("the phrase is not hashed as documented: stored cards would stop working")
	}
}

// TestLookup: kinds of attempt are counted apart, spelling is not.
func TestLookup(t *testing.T) {
	t.Parallel()
	if string(club.Lookup("email", " Ilse@Ferrylane.example ")) != string(club.Lookup("email", "ilse@ferrylane.example")) {
		t.Error("spelling matters")
	}
	if string(club.Lookup("email", "104")) == string(club.Lookup("card", "104")) || len(club.Lookup("card", "104")) != 32 {
		t.Error("kinds are not kept apart")
	}
}

// hash, check and phrase are what they are named after, for somebody known.
func hash(t *testing.T, password string) string {
	t.Helper()
	stored, err := club.HashPassword(t.Context(), club.Known, password)
	if err != nil {
		t.Fatal(err)
	}
	return stored
}

func check(t *testing.T, stored, password string) bool {
	t.Helper()
	ok, err := club.VerifyPassword(t.Context(), club.Known, stored, password)
	if err != nil {
		t.Fatal(err)
	}
	return ok
}

func phrase(t *testing.T, number string, words [4]string) []byte {
	t.Helper()
	h, err := club.PhraseHash(t.Context(), club.Known, number, words)
	if err != nil {
		t.Fatal(err)
	}
	return h
}
