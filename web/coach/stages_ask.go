package coach

import (
	"cmp"
	"context"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// span is a choice of weeks.
type span struct {
	value, label string
	days         progress.Day
}

// spans are the weeks over which the stage view can count.
var spans = []span{
	{"", "Last 8 weeks", 56}, {"4", "Last 4 weeks", 28}, {"26", "Last half year", 182}, {ownDays, "From a day to a day", 56},
}

// ownDays is the choice of a first and a last day.
const ownDays = "own"

// stagesAsked is what an address asks of the stage view.
type stagesAsked struct {
	store.StageAsk
	address  url.Values // without the page
	weeks    string
	from, to string // days, as they were asked for
	first    string // the first day that counts
	say      string // what is wrong with the days
}

// stagesAskOf reads what an address asks for; nonsense means the usual.
func stagesAskOf(q url.Values, now time.Time) stagesAsked {
	asked := stagesAsked{address: url.Values{}, weeks: q.Get("weeks"), from: q.Get("from"), to: q.Get("to")}
	for _, name := range []string{"group", "weeks", "from", "to", "drill", "sort", "find", "ending"} {
		if value := q.Get(name); value != "" {
			asked.address.Set(name, value)
		}
	}
	asked.Page, asked.Group, asked.Find = pageOf(q.Get("page")), forGroup(q), club.Tidy(q.Get("find"))
	asked.Drill, _ = strconv.ParseInt(q.Get("drill"), 10, 64)
	asked.ByName = q.Get("sort") == store.ByName
	if code, stage, is := strings.Cut(q.Get("sort"), "."); is {
		if plan, ok := ending.PlanOf(code); ok && plan.Index(ending.Stage(stage)) >= 0 {
			asked.Stage = progress.Key{Ending: code, Stage: ending.Stage(stage)}
		}
	}
	asked.days(now)
	return asked
}

// days works out from when to when games count: whole days in the club's own time.
func (asked *stagesAsked) days(now time.Time) {
	i := max(0, slices.IndexFunc(spans, func(s span) bool { return s.value == asked.weeks }))
	asked.weeks = spans[i].value
	first := progress.DayOf(now) - spans[i].days
	if asked.weeks == ownDays {
		first = asked.own(first, now.Location())
	}
	asked.Since, asked.first = first.Begins(now.Location()), first.Date().Format(time.DateOnly)
}

// own takes the days that were typed, of which either may be missing, and gives the first one:
// before a last day alone there are as many weeks as usual.
func (asked *stagesAsked) own(usual progress.Day, zone *time.Location) (first progress.Day) {
	from, to := dayAsked(asked.from), dayAsked(asked.to)
	switch {
	case asked.from != "" && from == 0, asked.to != "" && to == 0:
		asked.say = "Type a day from the year 2000 on, as in 2026-11-26."
		return usual
	case from != 0 && to != 0 && to < from:
		asked.say = "The last day is before the first one."
		return usual
	}
	if to != 0 {
		asked.Until, usual = (to + 1).Begins(zone), to-spans[0].days
	}
	return cmp.Or(from, usual)
}

// at is the address of the stage view with what is asked for, but one thing of it.
func (asked stagesAsked) at(path, name, value string) string {
	q := url.Values{}
	for k, v := range asked.address {
		q[k] = v
	}
	if q.Del(name); value != "" {
		q.Set(name, value)
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}

// games is the address of the games behind a number.
func (asked stagesAsked) games(student game.PersonID, k progress.Key) string {
	q := url.Values{"ending": {k.Ending}, "stage": {string(k.Stage)}, "from": {asked.first}}
	if !asked.Until.IsZero() {
		q.Set("to", asked.to)
	}
	if asked.Drill != 0 {
		q.Set("drill", strconv.FormatInt(asked.Drill, 10))
	}
	return "/students/" + strconv.FormatInt(int64(student), 10) + "?" + q.Encode() + "#games"
}

// held says whether the table shows less than the usual.
func (asked stagesAsked) held() bool { return asked.Drill != 0 || asked.weeks != "" }

// tools are the fields above the table.
func (s Pages) stagesTools(ctx context.Context, a game.Actor, asked stagesAsked, shown []ending.Plan) (StagesTools, error) {
	t := StagesTools{Own: asked.weeks == ownDays, Find: asked.Find, From: asked.from, To: asked.to, Say: asked.say, CSV: asked.at("/stages.csv", "", "")}
	var err error
	if t.Groups, err = s.groupChoices(ctx, a, asked.Group); err != nil {
		return t, err
	}
	if asked.Group != 0 && !slices.ContainsFunc(t.Groups, func(c view.Choice) bool { return c.Chosen }) {
		return t, site.Missing()
	}
	for _, span := range spans {
		t.Weeks = append(t.Weeks, view.Choice{Value: span.value, Label: span.label, Chosen: span.value == asked.weeks})
	}
	drills, err := s.Store.DrillsPlayed(ctx, a)
	if err != nil {
		return t, err
	}
	slices.SortStableFunc(drills, func(a, b store.PlayedDrill) int { return strings.Compare(game.Lower(a.Name), game.Lower(b.Name)) })
	t.Drills = []view.Choice{{Label: "All drills"}}
	for _, d := range drills {
		t.Drills = append(t.Drills, view.Choice{Value: strconv.FormatInt(d.Shelf, 10), Label: d.Name, Chosen: d.Shelf == asked.Drill})
	}
	t.Sort = []view.Choice{{Label: "First thing first"}, {Value: store.ByName, Label: "By name", Chosen: asked.ByName}}
	for _, plan := range shown {
		for _, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			t.Sort = append(t.Sort, view.Choice{Value: sortOf(k), Label: plan.Name + ", " + step.Stage.Word() + ": weakest first",
				Chosen: k == asked.Stage})
		}
	}
	return t, nil
}

// sortOf names the order by a column.
func sortOf(k progress.Key) string { return k.Ending + "." + string(k.Stage) }

// StagesTools are the fields above the table of the stage view.
type StagesTools struct {
	Groups   []view.Choice // empty: the club has none
	Weeks    []view.Choice
	Own      bool // the days are the coach's own
	From, To string
	Say      string // what is wrong with them
	Drills   []view.Choice
	Sort     []view.Choice
	Find     string
	CSV      string // the address of the same as a table for a spreadsheet
}
