// Package public has the pages of people who are not signed in yet: the ways in, the first
// set-up, and the way out.
package public

import "drover/web/site"

// Pages are the handlers of this audience.
type Pages struct{ *site.Site }

// New makes the pages of a site.
func New(s *site.Site) Pages { return Pages{s} }
