// Package coach has a coach's pages: the stage view, the students and their cards
// and guardians, the drills, and the board of a game that is watched.
package coach

import (
	"drover/game"
	"drover/web/site"
)

// Pages are the handlers of this audience.
type Pages struct {
	*site.Site
	Searches *game.Queue // in which starts are picked
	Tables   *game.Queue // in which the stage view is put together
}

// New makes the pages of a site.
func New(s *site.Site) Pages {
	return Pages{Site: s, Searches: game.NewQueue(searchesAtOnce, searchesWaiting, searchCrowd),
		Tables: game.NewQueue(tablesAtOnce, tablesWaiting, tableCrowd)}
}
