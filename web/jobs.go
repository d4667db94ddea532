package web

import (
	"context"
	"runtime/debug"
	"sync"
	"time"

	"drover/game"
	"drover/game/practice"
	"drover/store"
)

// How often the jobs run.
const (
	roundEvery = 5 * time.Second
	sweepEvery = 10 * time.Minute
	askEvery   = 2 * time.Second // whether the sessions of the open sockets are good still
)

// Work runs the jobs beside requests until the context ends, and returns when
// they have ended. They listen to hints from other nodes, report that this node
// lives, and tidy up from time to time.
func (s *Server) Work(ctx context.Context) {
	s.Hub.Complain(s.badGame)
	var jobs sync.WaitGroup
	jobs.Go(func() { s.Store.Listen(ctx, s.listener()) })
	jobs.Go(func() { s.every(ctx, roundEvery, "the word that this node lives", s.Round) })
	jobs.Go(func() { s.every(ctx, askEvery, "the sessions of sockets", s.askSessions) })
	jobs.Go(func() { s.every(ctx, sweepEvery, "tidying", s.sweep) })
	jobs.Wait()
}

func (s *Server) listener() store.Listener {
	return store.Listener{
		Changed: s.Hub.Changed, Refresh: s.Hub.Refresh,
		Failed: func(err error) { s.Seldom("hints from other nodes", "err", err) },
	}
}

// badGame reports once that a game cannot be read.
func (s *Server) badGame(c game.ClubID, g game.GameID, err error) {
	s.SayOnce("game", int64(c), int64(g), func() { s.Log.Error("a game cannot be read", "club", c, "game", g, "err", err) })
}

// tried handles the result of a job on one game. A game that cannot be read is
// reported, and the next one has its turn. The result is false if the database
// is away, since the rest would have to wait too.
func (s *Server) tried(c game.ClubID, g game.GameID, err error) bool {
	switch _, refused := practice.Refusal(err); {
	case err == nil || refused:
		return true
	case game.KindOf(err) == game.Away:
		s.Seldom("the database is away", "err", err)
		return false
	}
	s.badGame(c, g, err)
	return true
}

// every runs a job at once and then at intervals. A panic in it is logged, and
// the job runs again the next time.
func (s *Server) every(ctx context.Context, pause time.Duration, what string, do func(context.Context)) {
	tick := time.NewTicker(pause)
	defer tick.Stop()
	for {
		s.safely(what, func() { do(ctx) })
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// safely does something whose panic must not end the program.
func (s *Server) safely(what string, do func()) {
	defer func() {
		if p := recover(); p != nil {
			s.Log.Error("panic", "in", what, "value", p, "trace", string(debug.Stack()))
		}
	}()
	do()
}

// askSessions closes the sockets whose sessions are over, with one query for all. If
// the database does not answer, all count as good until the next time.
func (s *Server) askSessions(ctx context.Context) {
	tokens := s.sockets.tokens()
	if len(tokens) == 0 {
		return
	}
	over, err := s.Store.Over(ctx, tokens...)
	if err != nil {
		s.Seldom("ask whether sessions are over", "err", err)
		return
	}
	s.sockets.signedOut(over)
}

// Round reports that this node lives, and ends the looks of coaches on nodes
// that have been silent for long.
func (s *Server) Round(ctx context.Context) {
	if err := s.Store.Alive(ctx); err != nil {
		s.Seldom("say that this node lives", "err", err)
		return
	}
	s.stopResting(ctx)
	orphans, err := s.Store.Orphans(ctx)
	if err != nil {
		s.Seldom("look for looks that nobody has", "err", err)
		return
	}
	for _, o := range orphans {
		if !s.tried(o.Club, o.Game, s.Hub.LookAway(ctx, o.Club, o.Game, o.Line, o.By)) {
			return
		}
	}
}

// sweep ends the games in which nothing has happened for a day, and deletes the
// rows that nobody asks for any more.
func (s *Server) sweep(ctx context.Context) {
	if err := s.Store.Tidy(ctx); err != nil {
		s.Seldom("delete what nobody asks for any more", "err", err)
	}
	since := s.Now().Add(-24 * time.Hour)
	for last := (store.StaleGame{}); ; {
		games, err := s.Store.Stale(ctx, since, last)
		if err != nil {
			s.Seldom("look for games that were left", "err", err)
			return
		}
		for _, g := range games {
			if !s.tried(g.Club, g.Game, s.Hub.Abandon(ctx, g.Club, g.Game)) {
				return
			}
			last = g
		}
		if len(games) == 0 {
			return
		}
	}
}

// stopResting ends the games whose students' practice rests.
func (s *Server) stopResting(ctx context.Context) {
	games, err := s.Store.RestingGames(ctx)
	if err != nil {
		s.Seldom("look for games to be stopped", "err", err)
		return
	}
	for _, g := range games {
		if !s.tried(g.Club, g.Game, s.Hub.Stop(ctx, g.Club, g.Game)) {
			return
		}
	}
}
