package guardian

import (
	"fmt"

	"drover/web/view"
)

// What a guardian has just done, in the address of the report.
const (
	saidAgreed  = "agreed"
	saidBack    = "back"
	saidStopped = "stopped"
)

// said says at the top of the report what a guardian has just done, where it is so.
func (m ReportPage) said(what string) *view.Notice {
	switch {
	case what == saidAgreed && m.Rests:
		return &view.Notice{Say: "You agreed.", More: "Practice still rests, for another reason that stands here."}
	case what == saidAgreed && !m.Consent.Asked:
		return &view.Notice{Say: "You agreed.", More: m.Name + " can practise."}
	case what == saidBack && m.Rests:
		return &view.Notice{Say: "You took your consent back.", More: "Practice rests from now on."}
	case what == saidStopped && m.Erase.Say == "":
		return &view.Notice{Say: "The erasure is stopped.", More: "Nothing is erased."}
	}
	return nil
}

// most is the longest day, never less than a quarter of an hour, so that a short
// week does not look like a long one.
func (m ReportPage) most() int {
	most := 15
	for _, d := range m.Days {
		most = max(most, d.Minutes)
	}
	return most
}

// dayPath is a day's bar on a picture 36 wide and 60 high.
func dayPath(minutes, most int) string {
	h := max(4, 56*minutes/max(1, most))
	return fmt.Sprintf("M2 59v-%dq0-4 4-4h24q4 0 4 4v%dz", h-2, h-2)
}

// kept says how long an export is there.
func (m DataPage) kept() string {
	if m.Export != nil && m.Export.Ready {
		return "It is kept for one day."
	}
	return "It is made within the hour and kept for one day."
}

// waits says whether the page begins with something for the guardian to decide.
func (m ReportPage) waits() bool {
	return m.Consent != nil && m.Consent.first() || m.Erase != nil && m.Erase.Say != ""
}

// waiting leads to the list of drills while practice rests.
func (m ReportPage) waiting() string {
	if len(m.Set) == 0 {
		return ""
	}
	return "What is set waits:"
}

// say puts a week into words.
func (c WeekCell) say() string { return fmt.Sprintf("%d of %d", c.Alone, c.Of) }
