// Package review has the page on which a game that has ended is looked at again, by its
// student or a coach, and the game as PGN.
package review

import "drover/web/site"

// Pages are the handlers of this audience.
type Pages struct{ *site.Site }

// New makes the pages of a site.
func New(s *site.Site) Pages { return Pages{s} }
