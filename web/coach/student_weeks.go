package coach

import (
	"fmt"
	"net/url"
	"strconv"
	"time"

	"drover/game"
	"drover/game/progress"
	"drover/web/site"
)

// spendingWords name what time went to, in their order. A kind of game that is added to the
// store's list shows here by itself.
var spendingWords = []struct {
	on   progress.Spending
	name string
}{{progress.OnSet, "What was set"}, {progress.OnOwn, "Free practice"}, {progress.OnAgain, "Once more from a position"},
	{progress.WithCoach, "With a coach"}, {progress.Uncounted, "Not counted"}}

// weeksPart draws the last weeks of a student.
func weeksPart(student string, of progress.Record) WeeksPart {
	spent, mondays := of.SpentByWeek(), of.Mondays()
	m := WeeksPart{Time: timeSay(spent), Minutes: minuteRows(spent)}
	for _, d := range mondays {
		m.Heads = append(m.Heads, WeekHead{Day: d.Date().Format("2"), Month: d.Date().Format("Jan")})
	}
	for _, e := range of.StagesByWeek() {
		out := WeeksEnding{Ending: site.EndingOf(e.Ending)}
		for _, s := range e.Stages {
			row := weeksRow(s)
			if row.Of > 0 {
				q := url.Values{"ending": {e.Ending}, "stage": {row.Stage}, "from": {mondays[0].Date().Format(time.DateOnly)}}
				row.Href = "/students/" + student + "?" + q.Encode() + "#games"
			}
			out.Rows = append(out.Rows, row)
		}
		m.Endings = append(m.Endings, out)
	}
	return m
}

func weeksRow(s progress.StageWeeks) WeeksRow {
	row := WeeksRow{Stage: string(s.Stage)}
	row.Clean, row.Of = s.Count()
	for _, week := range s.Weeks {
		cell := WeekCell{Of: len(week)}
		for _, clean := range week {
			if clean {
				cell.Clean++
			}
		}
		cell.Bars = StageCell{Bars: week}.drawn()
		cell.Width = strconv.Itoa(6*len(cell.Bars) - 1)
		row.Cells = append(row.Cells, cell)
	}
	return row
}

// minutes are whole ones, as the report counts them.
func minutes(seconds int) int { return (seconds + 59) / 60 }

// timeSay is the time of this week, and of the last.
func timeSay(weeks [progress.Weeks]progress.WeekSpent) string {
	of := func(w progress.WeekSpent) string {
		if w.Days == 0 {
			return "none"
		}
		return game.Count(minutes(w.All()), "minute") + " on " + game.Count(w.Days, "day")
	}
	this, last := weeks[progress.Weeks-1], weeks[progress.Weeks-2]
	return fmt.Sprintf("Practice this week: %s. Last week: %s.", of(this), of(last))
}

// minuteRows are the minutes of the weeks, by what they went to where that is not one thing.
func minuteRows(weeks [progress.Weeks]progress.WeekSpent) []WeekMinutes {
	row := func(name string, of func(progress.WeekSpent) int) WeekMinutes {
		out, all := WeekMinutes{Name: name}, 0
		for _, w := range weeks {
			cell := ""
			if n := of(w); n > 0 {
				cell = strconv.Itoa(minutes(n))
				all += minutes(n) // as it stands there, so that a row adds up
			}
			out.Cells = append(out.Cells, cell)
		}
		out.All = strconv.Itoa(all)
		return out
	}
	rows := []WeekMinutes{row("Minutes", progress.WeekSpent.All)}
	for _, kind := range spendingWords {
		of := row(kind.name, func(w progress.WeekSpent) int { return w.Seconds[kind.on] })
		if of.All != "0" {
			rows = append(rows, of)
		}
	}
	if len(rows) == 2 { // all of one kind
		rows = rows[:1]
	}
	return rows
}

// names says whether a week's head names its month: the first of each does.
func (m WeeksPart) names(i int) bool { return i == 0 || m.Heads[i].Month != m.Heads[i-1].Month }
