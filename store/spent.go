package store

import (
	"time"

	"drover/game/progress"
)

// spendings say what the time of each kind of game goes to; a kind that is added here is
// added up. A coach's own trial has no student.
var spendings = map[GameKind]progress.Spending{
	OfDrill:     progress.OnSet,
	OfPart:      progress.OnSet,
	OfRecheck:   progress.OnSet,
	OfPlacement: progress.Uncounted,
	OfFree:      progress.OnOwn,
	OfAgain:     progress.OnAgain,
}

// SpendingOf says what the time of a kind of game goes to.
func SpendingOf(k GameKind) (progress.Spending, bool) {
	on, ok := spendings[k]
	return on, ok
}

// spentRow is a game with the time of thought in it.
type spentRow struct {
	owned
	Kind    GameKind
	At      time.Time
	Seconds int
	Shared  bool // a coach moved the lone king
}

// spent reads the time of thought of games that ended in the last weeks or go on. A week
// more than is shown is read, since this one is not over.
func (r *reading) spent() error {
	const q = `select
			g.student_id,
			g.kind,
			coalesce(g.ended_at, t.at, g.started_at) as at,
			t.seconds,
			t.shared
		from games g
		cross join lateral (select
				` + thought + ` as seconds,
				max(t.at) as at,
				count(*) filter (where t.kind = 'hand') > 0 as shared
			from acts t
			where t.club_id = g.club_id and t.game_id = g.id) t
		where g.club_id = @club and g.student_id = any(@only) and (g.ended_at is null or g.ended_at > @from)
		order by at, g.id`
	from := r.now.Add(-progress.Window - 7*24*time.Hour)
	return each(r, q, args{"from": from}, func(of *progress.Record, g spentRow) {
		on, ok := SpendingOf(g.Kind)
		if g.Shared {
			on = progress.WithCoach
		}
		if ok {
			of.Spent = append(of.Spent, progress.Spent{On: on, At: g.At, Seconds: g.Seconds})
		}
	})
}
