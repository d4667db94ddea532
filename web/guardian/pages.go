// Package guardian has the report that a guardian reads about a child.
package guardian

import "drover/web/site"

// Pages are the handlers of this audience.
type Pages struct{ *site.Site }

// New makes the pages of a site.
func New(s *site.Site) Pages { return Pages{s} }
