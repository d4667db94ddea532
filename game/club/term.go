package club

import "time"

// leastTerm is how many days a term has left, at the least, when something is made for it.
const leastTerm = 30

// TermEnd is the midnight at which the term of a club's day ends. A club keeps no terms, so
// this is a plain rule: a term's last day is the next 31 January or 31 July that is at least
// thirty days away.
func TermEnd(today time.Time) time.Time {
	day := func(year int, month time.Month, n int) time.Time {
		return time.Date(year, month, n, 0, 0, 0, 0, today.Location())
	}
	least := day(today.Year(), today.Month(), today.Day()+leastTerm)
	for year := today.Year(); ; year++ {
		for _, after := range []time.Time{day(year, time.February, 1), day(year, time.August, 1)} {
			if after.After(least) {
				return after
			}
		}
	}
}
