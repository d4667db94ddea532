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

// say puts a week into words.
func (c WeekCell) say() string { return fmt.Sprintf("%d of %d", c.Alone, c.Of) }
