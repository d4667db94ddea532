package guardian

import "fmt"

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

// mostParts is how many parts of games fill the picture of a week.
const mostParts = 12

// bar is a stroke for n parts on a picture 60 wide.
func (c WeekCell) bar(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("M0 4h%d", 60*min(n, max(c.Of, mostParts))/max(c.Of, mostParts))
}

// say puts a week into words.
func (c WeekCell) say() string { return fmt.Sprintf("%d of %d", c.Alone, c.Of) }
