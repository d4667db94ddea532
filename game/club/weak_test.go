package club_test

import (
	"strings"
	"testing"

	"drover/game/club"
)

// TestPasswordsThatOthersGuess: what is made of names that others know (OWASP ASVS
// 5.0, 6.2.11 with 6.1.2), says one thing again and again, or runs along a row is
// refused, each with a sentence that says what to do; what only holds such a thing
// is taken, for there is no other rule (6.2.5).
func TestPasswordsThatOthersGuess(t *testing.T) {
	t.Parallel()
	const own, again, row = "that others know", "again and again", "in a row"
	for password, say := range map[string]string{
		"Ferry Lane Chess Club": own, "ferrylanechessclub": own, "FERRY-LANE-CHESS-CLUB!": own,
		"1Ferry Lane Chess Club1":         own,
		"2026 Ferry Lane Chess Club 2026": own, "Ferry Lane Ferry Lane": own, "f.e.r.r.y.l.a.n.e.c.h.e.s.s.c.l.u.b": own,
		"Ilse Østergård 1987": own, "ilseilseilseilse": own, "ilse1ilse2ilse3ilse4": own, "ØSTERGÅRD østergård": own,
		"Ilse of Ferry Lane":        "",
		"ilse.oe@ferrylane.example": own, "Ilse.Oe@FerryLane.Example!": own, "ilse.oe.ilse.oe.1": own,
		"ilseoe1234567890": own,
		"drover drover 1":  own, "DroverDrover2026": own, "Drover by Ilse 2026": "", "the drover of the upper field": "",

		"abcabcabcabcabc": again, "123412341234123": again, "heather heather heather": again, "heatherheather1": again,
		"Gorse!Gorse!Gorse!": again,
		"!?!?!?!?!?!?!?!?":   again, "пастухпастухпастух": again, "a sheep and a sheep and": again,
		"heather, heather and a gorse":                              "",
		"four plain sheep stand still four plain sheep stand still": "", // each half is long enough by itself

		"abcdefghijklmno": row, "zyxwvutsrqponml": row, "qwertyuiopasdfg": row, "poiuytrewqlkjhgfdsa": row,
		"asdfghjkl1234567890": row,
		"9876543210987654":    row, "0123456789012345": row, "qwertzuiopasdfghjk": row, "qwe rty uio pas dfg": row,
		"abc-def-ghi-jkl-mno-1": row,
		"1qaz2wsx3edc4rfv":      row, "azertyuiopqsdfgh": row, "qwertyuiop and then gorse": "", "8271936450192837": "",
		"abcdefg is no heather": "",

		"zzzzzzzzzzzzzzz": "more than one letter", "ÄÄÄÄÄÄÄÄÄÄÄÄÄÄÄÄ": "more than one letter",
		"...............": "more than one letter", "🐑🐑🐑🐑🐑🐑🐑🐑🐑🐑🐑🐑🐑🐑🐑": "more than one letter",
	} {
		got := club.WeakPassword(password, "Ferry Lane Chess Club", "Ferry Lane", "Ilse Østergård",
			"ilse.oe@ferrylane.example", "ilse.oe")
		if (say == "") != (got == "") || !strings.Contains(got, say) {
			t.Errorf("%q: %q, want %q", password, got, say)
		}
		if got != "" && !strings.Contains(got, "Choose") && !strings.Contains(got, "Please") {
			t.Errorf("%q: %q does not say what to do", password, got)
		}
	}
}
