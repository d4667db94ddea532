// Package student has a student's own pages: what is to do today, the starting check,
// re-checks, and the game that is played.
package student

import "drover/web/site"

// Pages are the handlers of this audience.
type Pages struct{ *site.Site }

// New makes the pages of a site.
func New(s *site.Site) Pages { return Pages{s} }
