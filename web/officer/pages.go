// Package officer has the pages of a club's welfare officers: the desk, concerns, who has
// access and who read what. Coaches read there whom children can turn to.
package officer

import "drover/web/site"

// Pages are the handlers of this audience.
type Pages struct{ *site.Site }

// New makes the pages of a site.
func New(s *site.Site) Pages { return Pages{s} }
