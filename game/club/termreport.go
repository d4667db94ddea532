package club

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"drover/game"
)

// TermReport is a report on a term: a draft until a coach has signed it.
type TermReport struct {
	ID       int64
	Student  game.PersonID
	Title    string
	From, To time.Time
	Remark   string
	Said     json.RawMessage // what was said of the term when it was signed; nil: a draft
	By       string          // the coach
	Signed   *time.Time
}

// TermRemark is how many characters a remark may have: one paragraph on a page.
const TermRemark = 800

// Tidy brings a report into the form in which it is kept.
func (r *TermReport) Tidy() {
	r.Title, r.Remark = Tidy(r.Title), strings.TrimSpace(strings.ReplaceAll(r.Remark, "\r\n", "\n"))
}

// Validate holds a report against its rules.
func (r *TermReport) Validate() error {
	r.Tidy()
	p := Problems{}
	p.text("title", r.Title, "what the term is called", 60)
	switch {
	case r.From.IsZero():
		p["from"] = "Please choose the first day of the term."
	case r.To.IsZero():
		p["to"] = "Please choose the last day of the term."
	case r.To.Before(r.From):
		p["to"] = "The last day is before the first."
	case r.To.Sub(r.From) > 366*24*time.Hour:
		p["to"] = "A term has a year at most."
	}
	if n := utf8.RuneCountInString(r.Remark); n > TermRemark {
		p["remark"] = fmt.Sprintf("Please keep the remark to %d characters; it has %d.", TermRemark, n)
	}
	return p.Err()
}
