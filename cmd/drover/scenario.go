package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/cohort"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
)

// The demo's club is invented: a ferry village, a coach, ten children.

var theClub = club.NewClub{
	Club: "Ferry Lane chess club", Name: "Coach Ilse", Email: "ilse@ferrylane.example", Zone: "UTC",
	Welfare: "Marten, the club's welfare officer",
	Contact: "in the club room on Tuesdays, or by the number on the notice board",
}

// weaknesses of the scenario, by geometry alone.
var (
	inCorner = cohort.Lost(func(g cohort.Geometry) bool { return g.Rim == 0 && g.Corner > 2 }, 0.45)
	atEdge   = cohort.Lost(func(g cohort.Geometry) bool { return g.Rim == 1 }, 0.45)
	atMate   = cohort.Lost(func(g cohort.Geometry) bool { return g.Rim == 0 && g.Near <= 3 }, 0.5)
	atHome   = cohort.Striking(practice.KingHome, 0.55)
	checking = cohort.Striking(practice.Checks, 0.4)
	toAndFro = cohort.Striking(practice.Shuffling, 0.7)
	trapping = cohort.Striking(practice.Stalemates, 0.8)
)

// child is one of the club's students and what they have practised so far.
type child struct {
	cohort.Student
	guardian string
	wording  int
	games    map[string]int // by ending
	helped   string         // the ending in which somebody helps with every other game
}

var children = []child{
	{cohort.Student{Name: "Juniper", Skill: 0.9, Weak: inCorner}, "Hanne", 14,
		map[string]int{"KQK": 5, "KRK": 7, "KBNK": 10}, ""},
	{cohort.Student{Name: "Otis", Skill: 0.86, Weak: atHome}, "Roald", 8,
		map[string]int{"KQK": 5, "KRK": 6, "KBNK": 10}, ""},
	{cohort.Student{Name: "Bea", Skill: 0.8, Weak: checking}, "Signe", 8, map[string]int{"KQK": 6, "KRK": 7, "KBBK": 6}, ""},
	{cohort.Student{Name: "Miro", Skill: 0.6, Weak: atMate}, "Dov", 8, map[string]int{"KQK": 7, "KRK": 8}, ""},
	{cohort.Student{Name: "Runa", Skill: 0.82, Weak: atEdge}, "Tove", 14, map[string]int{"KQK": 5, "KRK": 8, "KBBK": 5}, ""},
	{cohort.Student{Name: "Kit", Skill: 0.85, Weak: atHome}, "Per", 8, map[string]int{"KRK": 8, "KBNK": 9}, ""},
	{cohort.Student{Name: "Sol", Skill: 0.9, Weak: nil}, "Ingrid", 14,
		map[string]int{"KQK": 5, "KRK": 6, "KBBK": 5, "KBNK": 7}, "KRK"},
	{cohort.Student{Name: "Pim", Skill: 0.55, Weak: nil}, "Lotte", 8, map[string]int{"KQK": 6, "KRK": 3}, ""},
	{cohort.Student{Name: "Tam", Skill: 0.7, Weak: nil}, "Edda", 8, map[string]int{"KQK": 2}, ""},
	{cohort.Student{Name: "Dot", Skill: 0.6, Weak: nil}, "Vera", 8, map[string]int{}, ""},
	{cohort.Student{Name: "Nell", Skill: 0.9, Weak: toAndFro}, "Arne", 8, map[string]int{"KRK": 6}, ""},
	{cohort.Student{Name: "Rasmus", Skill: 0.8, Weak: trapping}, "Birte", 14, map[string]int{"KQK": 6}, ""},
}

// link opens the site as one person.
type link struct {
	who   string
	token club.Secret
}

// weeks is how far back the club's games go.
const weeks = 6

// scenario makes the club step by step.
type scenario struct {
	*app
	coach   game.Actor
	officer game.Actor
	drills  map[string]club.Drill
	people  []game.Actor
	rng     *rand.Rand
}

// makeClub makes the club with some weeks of games, played by simulated
// students through the real judge, and returns a way in for four people.
func makeClub(ctx context.Context, a *app, progress func(done, all int)) ([]link, int, error) {
	s := &scenario{app: a, drills: map[string]club.Drill{}, rng: rand.New(rand.NewPCG(2026, 11))}
	n := theClub
	n.Password = string(club.NewSecret(0)) // nobody signs in to the demo by password
	var err error
	if s.coach, err = a.store.NewClub(ctx, n); err != nil {
		return nil, 0, err
	}
	if err := s.makeDrills(ctx); err != nil {
		return nil, 0, err
	}
	if err := s.addChildren(ctx); err != nil {
		return nil, 0, err
	}
	if err := s.addOfficer(ctx); err != nil {
		return nil, 0, err
	}
	games, err := s.playWeeks(ctx, progress)
	if err != nil {
		return nil, 0, err
	}
	more, err := s.showPlan(ctx)
	if err != nil {
		return nil, 0, err
	}
	games += more
	if err := s.setNext(ctx); err != nil {
		return nil, 0, err
	}
	if _, err := a.store.RefreshOverviews(ctx); err != nil { // the coach's first page waits for no job
		return nil, 0, err
	}
	links, err := s.links(ctx)
	return links, games, err
}

func (s *scenario) makeDrills(ctx context.Context) error {
	ready, err := progress.Shelf()
	if err != nil {
		return err
	}
	if _, err := s.store.FillShelf(ctx, s.coach, ready); err != nil {
		return err
	}
	for i, plan := range ending.Plans() {
		d := club.Drill{Ending: plan.Code, Mode: practice.Practice, From: plan.Steps[0].Stage, To: ending.Mate,
			Defender: ending.HoldsOut, Rule: club.RuleOf(practice.Practice)}
		if plan.Index(ending.Mate) < 0 {
			d.To = ending.Corner
		}
		if err := s.keep(ctx, &plan, &d, 10, int64(i)); err != nil {
			return err
		}
		s.drills[plan.Code] = d
	}
	return nil
}

// keep puts a drill on the shelf with n starts of its first stage.
func (s *scenario) keep(ctx context.Context, plan *ending.Plan, d *club.Drill, n int, seed int64) error {
	starts, err := s.judge.Starts(ctx, plan, d.From, n, seed)
	if err != nil {
		return err
	}
	for _, p := range starts {
		d.Starts = append(d.Starts, p.FEN())
	}
	if err := d.Validate(); err != nil {
		return err
	}
	d.ID, err = s.store.KeepDrill(ctx, s.coach, *d)
	return err
}

func (s *scenario) addChildren(ctx context.Context) error {
	agreed := s.now().AddDate(0, 0, -7*weeks-2)
	for _, c := range children {
		card, err := s.store.AddStudent(ctx, s.coach, club.NewStudent{Name: c.Name, ConsentBy: c.guardian, ConsentOn: agreed,
			Consent: true, Wording: c.wording})
		if err != nil {
			return err
		}
		p := game.Actor{Club: s.coach.Club, Person: card.Student.ID, Role: game.Student, Name: c.Name}
		s.people = append(s.people, p)
		if _, err := s.store.AddGuardian(ctx, s.coach, p.Person, c.guardian); err != nil {
			return err
		}
	}
	return s.addGroups(ctx)
}

// playWeeks plays all games, child by child, spread over the weeks.
func (s *scenario) playWeeks(ctx context.Context, progress func(done, all int)) (int, error) {
	all, done := 0, 0
	for _, c := range children {
		for _, n := range c.games {
			all += n
		}
	}
	for i, c := range children {
		for _, plan := range ending.Plans() {
			n := c.games[plan.Code]
			if n == 0 {
				continue
			}
			records, err := s.playEnding(ctx, c, s.people[i], s.drills[plan.Code], n)
			if err != nil {
				return done, err
			}
			if err := s.store.Import(ctx, s.coach, records); err != nil {
				return done, err
			}
			if plan.Code == "KQK" || plan.Code == "KBBK" { // the coach has gone on from these
				if _, err := s.store.Withdraw(ctx, s.coach, records[0].Task.ID, false); err != nil {
					return done, err
				}
			}
			done += n
			progress(done, all)
		}
	}
	return done, nil
}

func (s *scenario) playEnding(ctx context.Context, c child, who game.Actor, d club.Drill,
	n int) ([]store.Record, error) {
	task := club.Assignment{Drill: d}
	var err error
	if task.ID, err = s.store.Assign(ctx, s.coach, d.ID, []game.PersonID{who.Person}, nil); err != nil {
		return nil, err
	}
	var records []store.Record
	for i := range n {
		began := s.when(i, n)
		start := i % len(d.Starts)
		set := practice.Setup{
			Student: who.Person, Ending: d.Ending, Start: d.Starts[start], Side: board.White, Mode: d.Mode, Target: d.To,
			Defender: d.Defender, Seed: s.rng.Int64(), Backs: d.Rule.Backs, Allowance: d.Rule.Allowance,
		}
		state, err := cohort.Play(ctx, s.judge, set, c.Student, s.rng, began)
		if err != nil {
			return nil, err
		}
		if c.helped == d.Ending && i%2 == 0 {
			if state, err = s.sayHelped(ctx, state); err != nil {
				return nil, err
			}
		}
		outcome, err := practice.Summary(ctx, s.judge, state)
		if err != nil {
			return nil, err
		}
		records = append(records, store.Record{Task: task, Start: start, Try: 1, Began: began, State: state,
			Outcome: outcome})
	}
	return records, nil
}

// sayHelped lets the child say after a game that somebody helped.
func (s *scenario) sayHelped(ctx context.Context, state practice.State) (practice.State, error) {
	at := state.Last().At.Add(time.Minute)
	next, err := practice.Apply(ctx, s.judge, state, practice.Command{
		Do: practice.Helped, ID: "helped", Ply: state.Ply(), By: state.Student, At: at,
	})
	if err != nil {
		return state, fmt.Errorf("say that somebody helped: %w", err)
	}
	next.Stamp(at)
	return next, nil
}

// when spreads n games over the weeks up to last night, in the afternoons.
func (s *scenario) when(i, n int) time.Time {
	days := 7*weeks - 1
	day := s.now().AddDate(0, 0, -1-days*(n-1-i)/max(n, 1))
	return time.Date(day.Year(), day.Month(), day.Day(), 15+s.rng.IntN(4), s.rng.IntN(60), 0, 0, time.UTC)
}

// setNext leaves something to do today for everybody who has nothing of that ending open:
// bishop and knight from the first stage, four starts, and the rook's finish.
func (s *scenario) setNext(ctx context.Context) error {
	for _, next := range []struct {
		code     string
		from     ending.Stage
		defender string
	}{{"KRK", ending.Edge, ending.SeeksCentre}, {"KBNK", ending.Centralise, ending.HoldsOut}} {
		plan, _ := ending.PlanOf(next.code) // both have one
		d := club.Drill{Ending: next.code, Mode: practice.Guided, From: next.from, To: ending.Mate, Defender: next.defender,
			Rule: club.RuleOf(practice.Guided)}
		if err := s.keep(ctx, plan, &d, 4, 99); err != nil {
			return err
		}
		var ids []game.PersonID
		for i, p := range s.people {
			if children[i].games[next.code] == 0 {
				ids = append(ids, p.Person)
			}
		}
		due := s.now().AddDate(0, 0, 2)
		if _, err := s.store.Assign(ctx, s.coach, d.ID, ids, &due); err != nil {
			return err
		}
	}
	return nil
}

// links are the ways in: the coach, one student, that student's guardian.
func (s *scenario) links(ctx context.Context) ([]link, error) {
	student := s.people[0]
	file, err := s.store.StudentFile(ctx, s.coach.Club, student.Person)
	if err != nil {
		return nil, err
	}
	guardian := game.Actor{Club: s.coach.Club, Person: file.Guardians[0].ID, Role: game.Guardian,
		Name: file.Guardians[0].Name}
	var out []link
	for _, p := range []struct {
		who string
		a   game.Actor
	}{
		{s.coach.Name, s.coach}, {fmt.Sprintf("%s, a student", student.Name), student},
		{fmt.Sprintf("%s, %s's guardian", guardian.Name, student.Name), guardian}, {s.officer.Name + ", the welfare officer", s.officer},
	} {
		token, err := s.store.DirectLink(ctx, p.a)
		if err != nil {
			return nil, err
		}
		out = append(out, link{p.who, token})
	}
	return out, nil
}
