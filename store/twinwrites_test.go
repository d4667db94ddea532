package store_test

import (
	"fmt"
	"io"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"
)

// ends writes the act of a game that ends it, with what pages read of it.
func ends(s *store.Store, c game.ClubID, id game.GameID, seq int) error {
	set, err := s.Setup(ctx, c, id)
	if err != nil {
		return err
	}
	end := practice.Outcome{End: practice.Mated, Result: practice.Clean,
		Stages: []practice.StageResult{{Stage: "mate", Moves: 3, Completed: true, Clean: true}}}
	_, _, err = s.Append(ctx, c, set, practice.Act{Seq: seq, Kind: practice.Helped, Client: "e", By: set.Student}, &end)
	return err
}

// weeklyLetter is the number of the weekly mail of full, the second of all.
const weeklyLetter = 2

// writes change something of a club; each stands for a query or more that must not reach
// the twin's rows.
var writes = []struct {
	name string
	do   func(s *store.Store, f storetest.Fixture, c game.ClubID) error
}{
	{"PutOffLetter after TakeLetter", func(s *store.Store, _ storetest.Fixture, c game.ClubID) error {
		const id = weeklyLetter
		if l, err := s.TakeLetter(ctx, c, id); err != nil || l == nil {
			return fmt.Errorf("no letter: %w", err)
		}
		return s.PutOffLetter(ctx, c, id)
	}},
	{"EndLetter, refused", func(s *store.Store, _ storetest.Fixture, c game.ClubID) error {
		const id = weeklyLetter
		l, err := s.TakeLetter(ctx, c, id)
		if err != nil || l == nil {
			return fmt.Errorf("no letter: %w", err)
		}
		return s.EndLetter(ctx, c, id, *l, store.LetterRefused)
	}},
	{"AskAddress", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.AskAddress(ctx, in(c, f.Guardian), "new@home.example", true)
	}},
	{"AskReminder", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.AskReminder(ctx, in(c, f.Coach), true)
	}},
	{"EndAddress", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.EndAddress(ctx, in(c, f.Guardian))
	}},
	{"Append, the end of a game", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return ends(s, c, f.Game, 2)
	}},
	{"StartGame", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.StartGame(ctx, in(c, f.Student), f.Task))
	}},
	{"Append, the end of the last start", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		id, err := s.StartGame(ctx, in(c, f.Student), f.Task)
		if err != nil {
			return err
		}
		return ends(s, c, id, 1)
	}},
	{"Again", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.Again(ctx, in(c, f.Student), f.Game))
	}},
	{"KeepDrill", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.KeepDrill(ctx, in(c, f.Coach), f.Drill))
	}},
	{"a form", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.KeepDrill(ctx, in(c, f.Coach), f.Drill, form("new")))
	}},
	{"Assign", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.Assign(ctx, in(c, f.Coach), f.Drill.ID, []game.PersonID{f.Student.Person}, nil))
	}},
	{"GiveNext", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		n, err := s.Nexts(ctx, in(c, f.Coach), 0)
		if err != nil {
			return err
		}
		made := map[string]progress.Ready{}
		for _, l := range n.Lines {
			d := l.Next.Draft()
			d.Starts = []string{storetest.FinishStart}
			made[l.Next.Code()] = progress.Ready{Drill: d}
		}
		id, err := s.GiveNext(ctx, in(c, f.Coach), seenOf(n), made)
		if err == nil && (id == 0) != (len(n.Lines) == 0) {
			err = fmt.Errorf("of %d lines none was given", len(n.Lines))
		}
		return err
	}},
	{"AddStudent", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.AddStudent(ctx, in(c, f.Coach), club.NewStudent{Name: fmt.Sprint("New in ", c), ConsentBy: "Guardian",
			ConsentOn: time.Date(2024, 3, 1, 0, 0, 0, 0, time.UTC), Consent: true, Wording: 8}))
	}},
	{"AddGuardian", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.AddGuardian(ctx, in(c, f.Coach), f.Student.Person, "One more"))
	}},
	{"ReplaceLink", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.ReplaceLink(ctx, in(c, f.Coach), f.Student.Person, f.Guardian.Person))
	}},
	{"ReplaceCard", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		card, err := s.ReplaceCard(ctx, in(c, f.Coach), f.Student.Person)
		if twins := c != f.Coach.Club; err == nil && (card.Student.Number > 1000) != twins {
			err = fmt.Errorf("the card of club %d has the number %d", c, card.Student.Number)
		}
		return err
	}},
	{"RevokeGuardian", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.RevokeGuardian(ctx, in(c, f.Coach), f.Student.Person, f.Guardian.Person)
	}},
	{"the end of a task of the check", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		id, err := s.PlayTask(ctx, in(c, f.Student))
		if err != nil {
			return err
		}
		return ends(s, c, id, 1)
	}},
	{"AnswerTask", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.AnswerTask(ctx, in(c, f.Student), "mate", true)
	}},
	{"PlayTask", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.PlayTask(ctx, in(c, f.Student)))
	}},
	{"the end of the last task", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		id, err := s.PlayTask(ctx, in(c, f.Student))
		if err != nil {
			return err
		}
		return ends(s, c, id, 1)
	}},
	{"Recheck", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		k := progress.Key{Ending: "KRK", Stage: "edge"}
		return second(s.Recheck(ctx, in(c, f.Student), k, storetest.RookStart, "longest"))
	}},
	{"Part", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		task := club.Assignment{ID: f.Task, Drill: f.Drill}
		return second(s.Part(ctx, in(c, f.Student), task, storetest.FinishStart))
	}},
	{"KeepOwn", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.KeepOwn(ctx, in(c, f.Student), club.Own{Pace: club.QuickPace, Sounds: true})
	}},
	{"EditStudent", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		e := club.StudentEdit{Name: fmt.Sprint("Other in ", c), Wording: 8, Groups: []game.GroupID{groupOf(s, f, c, "Tuesday")}}
		id, err := s.EditStudent(ctx, in(c, f.Coach), f.Student.Person, e)
		if err == nil {
			_, _, err = s.Undo(ctx, in(c, f.Coach), id)
		}
		return err
	}},
	{"RenameGuardian", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.RenameGuardian(ctx, in(c, f.Coach), f.Student2.Person, f.Guardian2.Person, "Other"))
	}},
	{"WithdrawConsent", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.WithdrawConsent(ctx, in(c, f.Guardian2), f.Student2.Person)
	}},
	{"GiveConsent", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.GiveConsent(ctx, in(c, f.Guardian2), f.Student2.Person, 0)
	}},
	{"DraftTerm", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.DraftTerm(ctx, in(c, f.Coach), club.TermReport{Student: f.Student.Person, Title: "Spring", From: time.Now(), To: time.Now()}))
	}},
	{"KeepTerm", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.KeepTerm(ctx, in(c, f.Coach), club.TermReport{ID: 1, Student: f.Student.Person, Title: "Autumn", Remark: fmt.Sprint(time.Now()), From: time.Now(), To: time.Now()})
	}},
	{"SignTerm", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		read, err := s.TermReport(ctx, in(c, f.Coach), f.Student.Person, 1)
		if err != nil {
			return err
		}
		return s.SignTerm(ctx, in(c, f.Coach), read, []byte("{}"))
	}},
	{"DropTerm", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		id, err := s.DraftTerm(ctx, in(c, f.Coach), club.TermReport{Student: f.Student.Person, Title: "Gone", From: time.Now(), To: time.Now()})
		if err != nil {
			return err
		}
		return s.DropTerm(ctx, in(c, f.Coach), club.TermReport{ID: id, Student: f.Student.Person})
	}},
	{"WriteExport", func(s *store.Store, _ storetest.Fixture, c game.ClubID) error {
		w, err := s.WriteExport(ctx, c, 1)
		if err != nil {
			return err
		}
		if _, err := w.Write([]byte(fmt.Sprint("of club ", c))); err != nil {
			return err
		}
		return w.Close()
	}},
	{"FetchExport", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.FetchExport(ctx, in(c, f.Coach), 1, func(store.ExportRow) io.Writer { return io.Discard })
	}},
	{"AskErasure, and stop it", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		if err := s.AskErasure(ctx, in(c, f.Guardian), f.Student.Person); err != nil {
			return err
		}
		return s.StopErasureOf(ctx, in(c, f.Guardian), f.Student.Person)
	}},
	{"ConfirmErasure, and stop it", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		e, err := s.Erasing(ctx, c, f.Student2.Person)
		if err != nil {
			return err
		}
		if err := s.ConfirmErasure(ctx, officerOf(s, c), e.ID); err != nil {
			return err
		}
		return s.StopErasure(ctx, officerOf(s, c), e.ID)
	}},
	{"AskExport", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.AskExport(ctx, in(c, f.Coach), 0)
	}},
	{"KeepKeeping", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		k, err := s.Keeping(ctx, c)
		if err != nil {
			return err
		}
		k.Games--
		return s.KeepKeeping(ctx, in(c, f.Coach), k)
	}},
	{"KeepNotice", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.KeepNotice(ctx, in(c, f.Coach), club.Notice{For: club.ForChild, Body: "More"})
	}},
	{"RenewLink", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.RenewLink(ctx, in(c, f.Coach), f.Student2.Person, f.Guardian2.Person)
	}},
	{"RenameGroup", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.RenameGroup(ctx, in(c, f.Coach), groupOf(s, f, c, "Thursday"), fmt.Sprint(c, " Thursday")))
	}},
	{"PutInGroup", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.PutInGroup(ctx, in(c, f.Coach), groupOf(s, f, c, "Thursday"), []game.PersonID{f.Student2.Person}))
	}},
	{"ArchiveStudent", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.ArchiveStudent(ctx, in(c, f.Coach), f.Student2.Person))
	}},
	{"TakeBack", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.TakeBack(ctx, in(c, f.Coach), f.Student2.Person))
	}},
	{"EndSeason", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		up := map[game.GroupID]game.GroupID{groupOf(s, f, c, "Tuesday"): groupOf(s, f, c, "Thursday")}
		id, err := s.EndSeason(ctx, in(c, f.Coach), store.SeasonEnd{Leave: []game.PersonID{f.Student2.Person}, Up: up, Withdraw: true})
		if err == nil {
			_, _, err = s.Undo(ctx, in(c, f.Coach), id)
		}
		return err
	}},
	{"ArchiveGroup", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.ArchiveGroup(ctx, in(c, f.Coach), groupOf(s, f, c, "Thursday")))
	}},
	{"KeepSettings", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		now, err := s.Settings(ctx, c)
		if now.Name, now.Holidays = "Other", nil; err != nil {
			return err
		}
		id, err := s.KeepSettings(ctx, in(c, f.Coach), now)
		if err == nil {
			_, _, err = s.Undo(ctx, in(c, f.Coach), id)
		}
		return err
	}},
	{"Invite", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.Invite(ctx, in(c, f.Coach), nil, nil))
	}},
	{"MakeFeed", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.MakeFeed(ctx, in(c, f.Coach)))
	}},
	{"ReadFeed", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		token, err := s.MakeFeed(ctx, in(c, f.Guardian2))
		if err == nil {
			_, err = s.ReadFeed(ctx, token)
		}
		return err
	}},
	{"EndFeed", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.EndFeed(ctx, in(c, f.Coach))
	}},
	{"ReadNotice", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		told, err := s.Notices(ctx, in(c, f.Coach))
		if err != nil {
			return err
		}
		return s.ReadNotice(ctx, in(c, f.Coach), told[0].ID)
	}},
	{"DropFactor", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.DropFactor(ctx, in(c, f.Coach2))
	}},
	{"ResetCoach", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.ResetCoach(ctx, in(c, f.Coach), f.Coach2.Person, store.ResetFactor))
	}},
	{"MakeOwner", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.MakeOwner(ctx, in(c, f.Coach), f.Coach2.Person)
	}},
	{"EndCoach", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.EndCoach(ctx, in(c, f.Coach), f.Coach2.Person, f.Coach.Person)
	}},
	{"InviteOfficer", func(s *store.Store, _ storetest.Fixture, c game.ClubID) error {
		return second(s.InviteOfficer(ctx, officerOf(s, c)))
	}},
	{"KeepWelfare", func(s *store.Store, _ storetest.Fixture, c game.ClubID) error {
		desk, err := s.Welfare(ctx, officerOf(s, c))
		if err != nil {
			return err
		}
		return s.KeepWelfare(ctx, officerOf(s, c), "Other", "There", desk.Revision)
	}},
	{"Tell", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.Tell(ctx, in(c, f.Guardian2), f.Student2.Person, "Something")
	}},
	{"a concern", func(s *store.Store, _ storetest.Fixture, c game.ClubID) error {
		a := officerOf(s, c)
		rows, err := s.Concerns(ctx, a)
		if err != nil {
			return err
		}
		id := rows[len(rows)-1].ID
		for _, do := range []func() error{func() error { return s.OpenConcern(ctx, a, rows[0].ID) },
			func() error { return s.NoteConcern(ctx, a, id, "A note") }, func() error { return s.CloseConcern(ctx, a, id) },
			func() error { return s.ReopenConcern(ctx, a, id) }, func() error { return second(s.GiveReason(ctx, a, id, "To see")) }} {
			if err := do(); err != nil {
				return err
			}
		}
		return nil
	}},
	{"Bar and Lift", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		if err := s.Bar(ctx, officerOf(s, c), f.Guardian2.Person, "For a test"); err != nil {
			return err
		}
		return s.Lift(ctx, in(c, f.Coach), f.Guardian2.Person)
	}},
	{"RenameDrill", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		_, _, err := s.RenameDrill(ctx, in(c, f.Coach), f.Drill.ID, "Other")
		return err
	}},
	{"ArchiveDrill", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		at, err := s.Place(ctx, c, f.Drill.ID)
		if err == nil {
			_, err = s.ArchiveDrill(ctx, in(c, f.Coach), at.Now)
		}
		if err == nil {
			_, _, err = s.BackOnShelf(ctx, in(c, f.Coach), at.Now)
		}
		return err
	}},
	{"ChangeDue", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		id, err := s.ChangeDue(ctx, in(c, f.Coach), f.Task, nil)
		if err == nil {
			_, _, err = s.Undo(ctx, in(c, f.Coach), id)
		}
		return err
	}},
	{"Withdraw", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.Withdraw(ctx, in(c, f.Coach), f.Task, true))
	}},
	{"Later", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.Later(ctx, in(c, f.Coach), store.Line{Kind: progress.LineCard, Subject: int64(f.Student.Person), Evidence: 1})
	}},
	{"Looked", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return second(s.Looked(ctx, in(c, f.Coach)))
	}},
	{"a plan", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		plans, err := s.TermPlans(ctx, c)
		if err != nil {
			return err
		}
		group := groupOf(s, f, c, "Tuesday")
		if _, err := s.PutInPlan(ctx, in(c, f.Coach), plans[0].ID, club.PlanCell{Week: 2, Group: group, Ending: "KQK"}); err != nil {
			return err
		}
		if _, err := s.MovePlan(ctx, in(c, f.Coach), plans[0].ID, map[int]int{2: 3}, 4); err != nil {
			return err
		}
		id, err := s.EmptyCell(ctx, in(c, f.Coach), plans[0].ID, 3, group)
		if err == nil {
			_, _, err = s.Undo(ctx, in(c, f.Coach), id)
		}
		return err
	}},
	{"Read", func(s *store.Store, f storetest.Fixture, c game.ClubID) error {
		return s.Read(ctx, in(c, f.Coach), "review read", store.OfGame, int64(f.Game))
	}},
}
