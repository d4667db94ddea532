// Package officer has the pages of a club's welfare officers: whom children can turn to,
// and who the officers are. Coaches read the page, too.
package officer

import "drover/web/site"

// Pages are the handlers of this audience.
type Pages struct{ *site.Site }

// New makes the pages of a site.
func New(s *site.Site) Pages { return Pages{s} }
