package coach

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
)

// nextOnPage is how many students a page of what comes next has.
const nextOnPage = 50

// Next is what comes next for whom: a line for each student, those with the same drill
// together.
func (s Pages) Next(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.nextNotice(r, a); err != nil {
		return err
	}
	groups, err := s.Store.Groups(r.Context(), a)
	if err != nil {
		return err
	}
	at := nextAsk(r.URL.Query())
	m := NextPage{Page: page, At: at}
	found := at.Group == 0
	m.Groups = []GroupPill{{Name: "All", On: at.Group == 0, Href: nextAt{}.address()}}
	for _, g := range groups {
		found = found || g.ID == at.Group
		m.Groups = append(m.Groups, GroupPill{Name: g.Name, N: g.Students, On: g.ID == at.Group, Href: nextAt{Group: g.ID}.address()})
	}
	if !found {
		return site.Missing()
	}
	next, err := s.Store.Nexts(r.Context(), a, at.Group)
	if err != nil {
		return err
	}
	if err := m.fill(next); err != nil {
		return err
	}
	return s.Show(w, r, m.View())
}

// nextAt is what the page is asked for.
type nextAt struct {
	Group game.GroupID // 0: all
	No    int          // of the page, from 1
}

func nextAsk(q url.Values) nextAt {
	return nextAt{forGroup(q), pageOf(q.Get("page"))}
}

func (n nextAt) query() url.Values {
	q := url.Values{}
	if n.Group > 0 {
		q.Set("group", strconv.FormatInt(int64(n.Group), 10))
	}
	if n.No > 1 {
		q.Set("page", strconv.Itoa(n.No))
	}
	return q
}

func (n nextAt) address() string { return nextAddress(n.query()) }

// nextAddress is the page with what a query says.
func nextAddress(q url.Values) string {
	if len(q) == 0 {
		return "/next"
	}
	return "/next?" + q.Encode()
}

// fill makes the blocks of the page: a drill each, that of most students first.
func (m *NextPage) fill(n store.Nexts) error {
	ready, err := progress.Shelf()
	if err != nil {
		return err
	}
	by := map[string]*NextBlock{}
	var blocks []*NextBlock
	for _, l := range n.Lines {
		d := nextDrillOf(l, n, ready)
		key := d.Name
		if d.ID > 0 {
			key = strconv.FormatInt(int64(d.ID), 10)
		}
		if by[key] == nil {
			by[key] = nextBlock(l.Next, d)
			blocks = append(blocks, by[key])
		}
		b := by[key]
		b.Items = append(b.Items, NextItem{ID: strconv.FormatInt(int64(l.Student.ID), 10), Name: l.Student.Name, Stage: stageOf(l.Next),
			Why: l.Next.Why, Seen: fmt.Sprintf("%d %d %d %s", l.Student.ID, d.ID, l.Evidence, l.Next.Code())})
	}
	slices.SortStableFunc(blocks, func(a, b *NextBlock) int { return len(b.Items) - len(a.Items) })
	from, no := (m.At.No-1)*nextOnPage, 0
	for _, b := range blocks {
		b.All = len(b.Items)
		first, last := min(max(from-no, 0), b.All), min(max(from+nextOnPage-no, 0), b.All)
		no += b.All
		if b.Items = b.Items[first:last]; len(b.Items) > 0 {
			b.share()
			m.Blocks = append(m.Blocks, *b)
			m.Shown += len(b.Items)
		}
	}
	m.Total = no
	m.Leaf = leaf("Students", m.At.No, nextOnPage, m.Shown, m.Total, func(page int) string { return nextAt{m.At.Group, page}.address() })
	m.Have, m.Off, m.Check = n.Have, n.Off, n.Check
	for _, p := range n.Full {
		m.Full = append(m.Full, p.Name)
	}
	return nil
}

// nextDrillOf is the drill of a line: that of the shelf, the ready one that the club has not
// had yet, or the one that is made when it is given. Only the first has a number.
func nextDrillOf(l store.NextLine, n store.Nexts, ready []progress.Ready) club.Drill {
	if l.Drill >= 0 {
		return n.Shelf[l.Drill]
	}
	if r, ok := l.Next.ReadyFor(ready, n.Had); ok {
		return r.Drill
	}
	return l.Next.Draft()
}

func nextBlock(p progress.Proposal, d club.Drill) *NextBlock {
	b := &NextBlock{Ending: site.EndingOf(d.Ending), Name: d.Name, Line: d.Line()}
	if d.ID > 0 {
		b.Drill = strconv.FormatInt(int64(d.ID), 10)
		return b
	}
	if len(d.Starts) == 0 {
		b.Line = nextDrill(p, 0).Line
	}
	b.New = "A new drill: it is put on the shelf when it is given."
	return b
}

// stageOf is the stage whose mark a line has; a drill that holds a draw, and a test of the
// whole, have none.
func stageOf(p progress.Proposal) string {
	if p.Hold || p.Mode == practice.Test {
		return ""
	}
	return string(p.From)
}

// share says a reason that all lines of a block have in common once.
func (b *NextBlock) share() {
	for _, item := range b.Items {
		if len(b.Items) == 1 || item.Why != b.Items[0].Why {
			return
		}
	}
	b.Why = b.Items[0].Why
	for i := range b.Items {
		b.Items[i].Why = ""
	}
}

type nextForm struct {
	Lines []string `schema:"line"` // block, student, drill, evidence, and what is proposed
	Do    string   `schema:"do"`   // "all", or "block", "one" or "later" with a number
	site.OnceForm
}

// nextSeen is a line of the form.
type nextSeen struct {
	store.NextSeen
	block, evidence string
}

// seen reads the lines that a form is about.
func (f nextForm) seen() (do string, out []nextSeen, err error) {
	do, which, _ := strings.Cut(f.Do, " ")
	for _, text := range f.Lines[:min(nextOnPage, len(f.Lines))] {
		part := strings.SplitN(text, " ", 5)
		if len(part) < 5 {
			return do, nil, site.Missing()
		}
		student, err1 := strconv.ParseInt(part[1], 10, 64)
		drill, err2 := strconv.ParseInt(part[2], 10, 64)
		if err1 != nil || err2 != nil {
			return do, nil, site.Missing()
		}
		if do == "all" || do == "block" && part[0] == which || (do == "one" || do == "later") && part[1] == which {
			line := store.NextSeen{Student: game.PersonID(student), Drill: game.DrillID(drill), Code: part[4]}
			out = append(out, nextSeen{line, part[0], part[3]})
		}
	}
	if len(out) == 0 {
		return do, nil, game.Fail(game.Bad, "There is nothing to give in this form. Load the page again and choose once more.")
	}
	return do, out, nil
}

// NextPost gives what comes next to those of a button, or puts a line off.
func (s Pages) NextPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f nextForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	do, lines, err := f.seen()
	if err != nil {
		return err
	}
	q := nextAsk(r.URL.Query()).query()
	if do == "later" {
		err = s.nextLater(r.Context(), a, lines[0])
		q.Set("off", strconv.FormatInt(int64(lines[0].Student), 10))
	} else {
		err = s.nextGive(r, a, lines, q)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, nextAddress(q), http.StatusSeeOther)
	return nil
}

// nextLater puts a line off for a week.
func (s Pages) nextLater(ctx context.Context, a game.Actor, l nextSeen) error {
	line, ok := store.LineOf(string(progress.LineNext), strconv.FormatInt(int64(l.Student), 10), l.Code, l.evidence)
	if !ok {
		return site.Missing()
	}
	if err := s.Store.InScope(ctx, a, l.Student); err != nil {
		return err
	}
	return s.Store.Later(ctx, a, line)
}

// nextGive gives lines, and writes into the address of the next page what came of it.
func (s Pages) nextGive(r *http.Request, a game.Actor, lines []nextSeen, q url.Values) error {
	seen, who := make([]store.NextSeen, len(lines)), make([]game.PersonID, len(lines))
	for i, l := range lines {
		seen[i], who[i] = l.NextSeen, l.Student
	}
	made, err := s.nextMade(r.Context(), a, seen)
	if err != nil {
		return err
	}
	given, err := s.Store.GiveNext(r.Context(), a, seen, made, s.Sent(r))
	if err != nil {
		return err
	}
	left, err := s.Store.NotGiven(r.Context(), a, given, who)
	if err != nil {
		return err
	}
	q.Set("given", strconv.FormatInt(int64(given), 10))
	if len(left) > 0 {
		ids := make([]game.PersonID, len(left))
		for i, p := range left {
			ids[i] = p.ID
		}
		q.Set("left", idList(ids))
	}
	q.Del("page")
	return nil
}

// nextMade makes the drills of lines that were not on the shelf when they were seen, and are
// not there yet: the ready one, where there is one that the club has not had.
func (s Pages) nextMade(ctx context.Context, a game.Actor, seen []store.NextSeen) (map[string]progress.Ready, error) {
	made := map[string]progress.Ready{}
	if !slices.ContainsFunc(seen, func(l store.NextSeen) bool { return l.Drill == 0 }) {
		return made, nil
	}
	ready, err := progress.Shelf()
	if err != nil {
		return nil, err
	}
	next, err := s.Store.Nexts(ctx, a, 0)
	if err != nil {
		return nil, err
	}
	leave, err := s.Searches.Enter(ctx)
	if err != nil {
		return nil, err
	}
	defer leave()
	for _, l := range next.Lines {
		code := l.Next.Code()
		asked := slices.ContainsFunc(seen, func(w store.NextSeen) bool { return w.Drill == 0 && w.Code == code && w.Student == l.Student.ID })
		if _, is := made[code]; is || !asked || l.Drill >= 0 {
			continue
		}
		r, ok := l.Next.ReadyFor(ready, next.Had)
		if !ok {
			if r.Drill, err = l.Next.Make(ctx, s.Judge); err != nil {
				return nil, err
			}
		}
		made[code] = r
	}
	return made, nil
}
