package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/cohort"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"

	"github.com/jackc/pgx/v5"
)

// filling makes clubs in an empty database. Some students' games are played through the
// real judge; the others' are copies of them at other times, made by the database.
type filling struct {
	store *store.Store
	root  *pgx.Conn
	judge *ending.Judge
}

// clubs are what was filled: the big club's ways in, and what its pages are about.
type clubs struct {
	coaches           []club.Secret // of six coaches
	student, guardian club.Secret   // of one student with a game under way, and of the guardian
	person            game.PersonID // that student
	ended, open       game.GameID   // a long game of that student, and the one under way
	group             game.GroupID  // of 25 students
	plan              game.PlanID   // with a drill in every cell
	sizes             string
}

// seeds is how many students really play.
const seeds = 20

// shelf is how many drills the big club has.
const shelf = 60

// year is how far back the games go.
const year = 364 * 24 * time.Hour

// clubs makes the big club and a small one.
func (f *filling) clubs(ctx context.Context, students, acts int) (c clubs, err error) {
	small, err := f.found(ctx, "Small", 1, 6)
	if err != nil {
		return c, err
	}
	if err := f.played(ctx, small, 10, 100); err != nil {
		return c, err
	}
	big, err := f.found(ctx, "Big", 6, shelf)
	if err != nil {
		return c, err
	}
	c.coaches = big.links
	real := min(students, seeds)
	if err := f.played(ctx, big, real, acts/students); err != nil {
		return c, err
	}
	// A bell is rung for a stage that was often clean, as the tests of a year would.
	const bells = `insert into bells (club_id, student_id, ending, stage, rung_on)
		select club_id, student_id, ending, stage, max(ended_at)::date from stage_results
		where club_id = $1 and clean
		group by 1, 2, 3, 4
		having count(*) >= 8`
	if _, err := f.root.Exec(ctx, bells, big.coach.Club); err != nil {
		return c, fmt.Errorf("ring bells: %w", err)
	}
	if err := f.copies(ctx, big.coach.Club, students-real); err != nil {
		return c, err
	}
	if err := f.term(ctx, big, &c); err != nil {
		return c, err
	}
	if err := f.ways(ctx, big, &c); err != nil {
		return c, err
	}
	if _, err := f.store.RefreshOverviews(ctx); err != nil { // the jobs of a year's games
		return c, err
	}
	const q = `select format('%s students, %s ended games, %s acts, %s stages of games, %s drills, %s bells',
		(select count(*) from people where club_id = $1 and role = 'student'),
		(select count(*) from games where club_id = $1 and ended_at is not null),
		(select count(*) from acts where club_id = $1), (select count(*) from stage_results where club_id = $1),
		(select count(*) from drills where club_id = $1), (select count(*) from bells where club_id = $1))`
	return c, f.root.QueryRow(ctx, q, big.coach.Club).Scan(&c.sizes)
}

// founded is a club with its coaches and drills.
type founded struct {
	coach  game.Actor
	links  []club.Secret
	drills []club.Drill
}

// found makes a club.
func (f *filling) found(ctx context.Context, name string, coaches, drills int) (c founded, err error) {
	c.coach, err = f.store.NewClub(ctx, club.NewClub{Club: name + " club", Name: "First coach", Zone: "UTC",
		Email: name + "-1@club.example", Password: string(club.NewSecret(0)), Welfare: "Officer",
		Contact: "In the club room"})
	coach := c.coach
	for i := 1; err == nil; i++ {
		link, failed := f.store.DirectLink(ctx, coach)
		if failed != nil {
			return c, failed
		}
		if c.links = append(c.links, link); i == coaches {
			break
		}
		coach, err = f.store.AddCoach(ctx, c.coach, club.NewCoach{Name: fmt.Sprint("Coach ", i+1),
			Email: fmt.Sprintf("%s-%d@club.example", name, i+1), Password: string(club.NewSecret(0))})
	}
	for i := 0; err == nil && i < drills; i++ {
		var d club.Drill
		d, err = f.drill(ctx, c.coach, i)
		c.drills = append(c.drills, d)
	}
	return c, err
}

// endings is how often which ending is practised: the long ones most.
var endings = strings.Fields(`KBNK KBBK KBNK KRK KBNK KBBK KBNK KQK KBNK KBNK
	KBNK KBBK KBNK KRK KBNK KBBK KBNK KRRK KBNK KBNK`)

// drill puts a drill of four starts on the shelf.
func (f *filling) drill(ctx context.Context, coach game.Actor, no int) (club.Drill, error) {
	plan, _ := ending.PlanOf(endings[no%len(endings)]) // each has one
	mode := []practice.Mode{practice.Guided, practice.Practice, practice.Practice, practice.Test}[no%4]
	d := club.Drill{Ending: plan.Code, Mode: mode, From: plan.Steps[0].Stage, To: plan.Steps[plan.Last()].Stage,
		Defender: ending.HoldsOut, Rule: club.RuleOf(mode), Name: fmt.Sprintf("Drill %d", no+1)}
	starts, err := f.judge.Starts(ctx, plan, d.From, 4, int64(no))
	if err != nil {
		return d, err
	}
	for _, p := range starts {
		d.Starts = append(d.Starts, p.FEN())
	}
	if err := d.Validate(); err != nil {
		return d, err
	}
	d.ID, err = f.store.KeepDrill(ctx, coach, d)
	return d, err
}

// weak are places in which a student may be lost.
var weak = []cohort.Weakness{nil, cohort.Lost(func(g cohort.Geometry) bool { return g.Rim == 0 }, 0.4), nil,
	cohort.Lost(func(g cohort.Geometry) bool { return g.Rim == 1 }, 0.4),
	cohort.Lost(func(g cohort.Geometry) bool { return g.Rim >= 2 }, 0.3)}

// played adds students of different strength, who play for a year until each has done so
// many acts.
func (f *filling) played(ctx context.Context, c founded, students, acts int) error {
	for i := range students {
		card, err := f.store.AddStudent(ctx, c.coach, club.NewStudent{Name: fmt.Sprintf("Seed %03d", i),
			ConsentBy: "Guardian", ConsentOn: time.Now().Add(-year), Consent: true,
			Wording: []int{ending.Eight, ending.Fourteen}[i%2]})
		if err != nil {
			return err
		}
		if _, err := f.store.AddGuardian(ctx, c.coach, card.Student.ID, fmt.Sprintf("Guardian %03d", i)); err != nil {
			return err
		}
		s := season{filling: f, club: c, no: i,
			who:     game.Actor{Club: c.coach.Club, Person: card.Student.ID, Role: game.Student},
			rng:     rand.New(rand.NewPCG(2026, uint64(i))),
			student: cohort.Student{Skill: 0.3 + 0.7*float64(i)/float64(students), Weak: weak[i%len(weak)]}}
		if err := s.play(ctx, acts); err != nil {
			return err
		}
	}
	return nil
}

// season is a student's year.
type season struct {
	*filling
	club    founded
	no      int
	who     game.Actor
	student cohort.Student
	rng     *rand.Rand

	tasks   map[int]club.Assignment // of the drills that were given, by their place on the shelf
	tries   map[[2]int]int          // of a drill and start
	records []store.Record
}

// play plays the year, and leaves one game under way.
func (s *season) play(ctx context.Context, acts int) error {
	s.tasks, s.tries = map[int]club.Assignment{}, map[[2]int]int{}
	now, last := time.Now(), 0
	for done := 0; done < acts; {
		share := float64(done) / float64(acts)
		last = s.dueDrill(share)
		began := now.Add(-time.Duration((1-share)*float64(year)) - time.Hour - time.Duration(s.rng.IntN(20))*time.Minute)
		n, err := s.game(ctx, last, began)
		if err != nil {
			return err
		}
		done += n
	}
	if err := s.store.Import(ctx, s.club.coach, s.records); err != nil {
		return err
	}
	// What was given long ago has been taken back, unless it is passed.
	const q = `update assignments a set opens_at = g.began,
			withdrawn_at = case when g.began < now() - interval '60 days' then g.began + interval '30 days' end
		from (select assignment_id, min(started_at) as began from games where club_id = $1 and student_id = $2 group by 1) g
		where a.club_id = $1 and a.id = g.assignment_id`
	if _, err := s.root.Exec(ctx, q, s.who.Club, s.who.Person); err != nil {
		return err
	}
	task, err := s.store.Assign(ctx, s.club.coach, s.club.drills[last].ID, []game.PersonID{s.who.Person}, nil)
	if err != nil {
		return err
	}
	_, err = s.store.StartGame(ctx, s.who, task)
	return err
}

// dueDrill is the drill that a student has at a time of the year: one in three of the shelf.
func (s *season) dueDrill(share float64) int {
	n := len(s.club.drills)
	at := int(share*float64(n))/3*3 + s.no%3
	return min(at, n-1)
}

// game plays one try at a start of a drill, and says how many acts it took.
func (s *season) game(ctx context.Context, no int, began time.Time) (int, error) {
	d := s.club.drills[no]
	task, given := s.tasks[no]
	if !given {
		task.Drill = d
		var err error
		if task.ID, err = s.store.Assign(ctx, s.club.coach, d.ID, []game.PersonID{s.who.Person}, nil); err != nil {
			return 0, err
		}
		s.tasks[no] = task
	}
	start := s.rng.IntN(len(d.Starts))
	s.tries[[2]int{no, start}]++
	set := practice.Setup{Student: s.who.Person, Ending: d.Ending, Start: d.Starts[start], Side: board.White, Mode: d.Mode,
		Target: d.To, Defender: d.Defender, Seed: s.rng.Int64(), Backs: d.Rule.Backs, Allowance: d.Rule.Allowance,
		Helps: practice.StepsOf(d.Rule.Help...)}
	state, err := cohort.Play(ctx, s.judge, set, s.student, s.rng, began)
	if err != nil {
		return 0, err
	}
	outcome, err := practice.Summary(ctx, s.judge, state)
	if err != nil {
		return 0, err
	}
	s.records = append(s.records, store.Record{Task: task, Start: start, Try: s.tries[[2]int{no, start}], Began: began,
		State: state, Outcome: outcome})
	return len(state.Acts), nil
}

// ways finds a student with much to show, and the ways in to their pages.
func (f *filling) ways(ctx context.Context, big founded, c *clubs) error {
	a := game.Actor{Club: big.coach.Club, Role: game.Student}
	const q = `select g.student_id, u.guardian_id, g.id,
			(select id from games o where o.club_id = $1 and o.student_id = g.student_id and o.ended_at is null limit 1)
		from games g
		join guardians u on u.club_id = $1 and u.student_id = g.student_id
		where g.club_id = $1 and g.moves between 25 and 40
		order by g.ended_at desc
		limit 1`
	guardian := a
	if err := f.root.QueryRow(ctx, q, a.Club).Scan(&a.Person, &guardian.Person, &c.ended, &c.open); err != nil {
		return fmt.Errorf("find a game to look at: %w", err)
	}
	c.person = a.Person
	var err error
	if c.student, err = f.store.DirectLink(ctx, a); err != nil {
		return err
	}
	c.guardian, err = f.store.DirectLink(ctx, guardian)
	return err
}
