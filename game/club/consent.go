package club

import (
	"time"

	"drover/game"
)

// Rests is what a child reads in place of practice, without the reason or the person behind it.
const Rests = "Practice is resting just now. A grown-up can tell you more."

// AskedFor is how long practice goes on after guardians are asked again.
const AskedFor = 30 * 24 * time.Hour

// Consent is how the consent to a student's practice stands.
type Consent struct {
	Stands   bool // the student may practise
	By       string
	On       time.Time     // the last time that it was given; By is empty where it never was
	Guardian game.PersonID // who gave it on the own page, 0: on paper
	Version  int           // of the notice, 0: the program's own words
	Back     []Withdrawal  // taken back and not given again
	Asked    *time.Time    // since when guardians are asked again without an answer
}

// Withdrawal is a consent that was taken back.
type Withdrawal struct {
	ID       int64
	Guardian game.PersonID // 0: noted from paper of somebody without a link
	By       string
	At       time.Time
	On       time.Time // its day, by the club's calendar or by the paper
}

// Waits says whether nobody has agreed yet.
func (c Consent) Waits() bool { return c.By == "" }

// TakenBackBy finds what a guardian has taken back.
func (c Consent) TakenBackBy(who game.PersonID) (Withdrawal, bool) {
	for _, w := range c.Back {
		if w.Guardian == who && who != 0 {
			return w, true
		}
	}
	return Withdrawal{}, false
}

// TakenBack finds a withdrawal by its number.
func (c Consent) TakenBack(id int64) (Withdrawal, bool) {
	for _, w := range c.Back {
		if w.ID == id {
			return w, true
		}
	}
	return Withdrawal{}, false
}
