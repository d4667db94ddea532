package site

import (
	"context"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/web/view"
)

// StopGames ends the games of a student whose practice rests now. What cannot be ended at once
// is ended within seconds by every node.
func (s *Site) StopGames(ctx context.Context, c game.ClubID, student game.PersonID) {
	games, err := s.Store.OpenGames(ctx, c, student)
	if err != nil {
		s.Seldom("look for games to be stopped", "err", err)
		return
	}
	for _, g := range games {
		if err := s.Hub.Stop(ctx, c, g); err != nil {
			s.Seldom("stop a game", "game", g, "err", err)
		}
	}
}

// noticePictures stand beside the parts of a child's notice, in their order.
var noticePictures = []string{"i-check", "i-list", "i-eye", "i-leave", "i-tell"}

// NoticeOf is a notice as a page shows it.
func NoticeOf(n club.Notice, now time.Time) view.NoticeOf {
	out := view.NoticeOf{Child: n.For == club.ForChild, Label: "Notice " + n.Label() + ", of " + ShortDay(n.At.In(now.Location()), now) + ". "}
	if n.Version == 0 {
		out.Label = "In the program's own words, " + n.Label() + ". "
	}
	out.Label += "Fingerprint of this text: " + n.Mark() + "."
	for i, s := range n.Sections() {
		part := view.NoticePart{Head: s.Head, Text: s.Text}
		if out.Child && i < len(noticePictures) {
			part.Picture = noticePictures[i]
		}
		out.Parts = append(out.Parts, part)
	}
	return out
}
