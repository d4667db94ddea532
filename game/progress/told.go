package progress

import (
	"time"

	"drover/game/practice"
)

// LastPlayed is what a guardian is told of the last game, and so of what comes next.
type LastPlayed struct {
	Kind LastPlayedKind
	Played
	Times int // how often it has gone wrong in that part, of Lost
}

// LastPlayedKind says how the last game went, in the eyes of somebody who does not play.
type LastPlayedKind int

// How the last game went.
const (
	NothingYet LastPlayedKind = iota
	DrawHeld
	GameWon
	DrawNotHeld
	Unfinished
	Lost // in a part of the game that is known
)

// LastPlayed decides what a guardian is told of the last game.
func (r Record) LastPlayed() LastPlayed {
	if len(r.Played) == 0 {
		return LastPlayed{}
	}
	last := LastPlayed{Played: r.Played[len(r.Played)-1]}
	for _, p := range r.Played {
		if p.Ending == last.Ending && !p.Result.Good() && p.Failed == last.Failed && last.Failed != "" {
			last.Times++
		}
	}
	left := last.End == practice.Abandoned || last.End == practice.Restarted || last.End == practice.Resigned
	switch good := last.Result.Good(); {
	case good && last.Hold:
		last.Kind = DrawHeld
	case good:
		last.Kind = GameWon
	case last.Hold && !left:
		last.Kind = DrawNotHeld
	case last.Failed == "":
		last.Kind = Unfinished
	default:
		last.Kind = Lost
	}
	return last
}

// Week is what was played since Monday.
type Week struct {
	Games   int
	Days    [7]int // seconds of thought on each day, from Monday
	On      int    // days with any practice
	Alone   int    // games that were won, or held, without help
	Seconds int
	Free    int  // of these seconds in what counts for nothing: free practice and positions once more
	Holds   bool // a draw was defended in one of the games
}

// Week adds up the games since Monday, in the club's own time.
func (r Record) Week() Week {
	var w Week
	var played [7]bool
	monday := Monday(r.Now)
	for _, p := range r.Played {
		at := p.Ended.In(r.Now.Location())
		if at.Before(monday) {
			continue
		}
		day := weekday(at)
		played[day] = true
		w.Games++
		w.Days[day] += p.Seconds
		w.Seconds += p.Seconds
		w.Holds = w.Holds || p.Hold
		if p.Result.Alone() {
			w.Alone++
		}
	}
	for _, s := range r.Spent {
		at := s.At.In(r.Now.Location())
		if at.Before(monday) || s.Seconds == 0 || s.On != OnOwn && s.On != OnAgain {
			continue
		}
		day := weekday(at)
		played[day] = true
		w.Days[day] += s.Seconds
		w.Seconds += s.Seconds
		w.Free += s.Seconds
	}
	for _, on := range played {
		if on {
			w.On++
		}
	}
	return w
}

// Monday is the beginning of the week of a time.
func Monday(now time.Time) time.Time {
	return time.Date(now.Year(), now.Month(), now.Day()-weekday(now), 0, 0, 0, 0, now.Location())
}

// weekday counts from Monday, 0.
func weekday(t time.Time) int { return (int(t.Weekday()) + 6) % 7 }
