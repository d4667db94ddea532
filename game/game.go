// Package game defines what every other package shares: kinds of error,
// identifiers, roles, the clock, and a queue with few places. It knows no
// chess.
package game

import (
	"errors"
	"time"
)

// Kind says what sort of failure an Error is, so that one place can map it to
// a status or a frame.
type Kind uint8

// The kinds of failure.
const (
	Internal Kind = iota // not the person's doing; the text is never shown
	Bad                  // the input cannot be read or does not fit
	Denied               // the person may not do that
	Missing              // there is no such thing in this club
	Conflict             // something else happened first
	Busy                 // come back in a moment
	Away                 // the database cannot be reached
	Gone                 // the thing was there and is over: an expired link, an ended game
)

// Error is a failure with a sentence for the person and, apart from it, the
// cause for the log. The two never mix.
type Error struct {
	Kind Kind
	Say  string // one sentence that says what to do
	Err  error  // the inner cause, or nil
}

// Error returns the text for a log: the sentence and the cause.
func (e *Error) Error() string {
	if e.Err == nil {
		return e.Say
	}
	return e.Say + ": " + e.Err.Error()
}

// Unwrap gives the inner cause.
func (e *Error) Unwrap() error { return e.Err }

// Fail makes an Error of a kind with a sentence for the person.
func Fail(kind Kind, say string) error { return &Error{Kind: kind, Say: say} }

// Wrap is Fail with a cause for the log.
func Wrap(kind Kind, say string, err error) error { return &Error{Kind: kind, Say: say, Err: err} }

// KindOf finds the kind of an error; an error of another make is Internal.
func KindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return Internal
}

// Saying finds the sentence for the person, or a plain one for an error that
// has none: internal text reaches nobody.
func Saying(err error) string {
	var e *Error
	if errors.As(err, &e) && e.Kind != Internal {
		return e.Say
	}
	return "Something went wrong here. It was noted; please try again."
}

// Each identifier has a type of its own, so that none is taken for another.
//
//nolint:revive // GameID beside PersonID reads better than ID
type (
	ClubID       int64 // a club; the first column of every key
	PersonID     int64 // a person of a club
	GroupID      int64 // a group of students
	ChangeID     int64 // a change that can be undone
	SheetID      int64 // a sheet of cards
	PlanID       int64 // a term plan
	DrillID      int64 // one version of a drill
	AssignmentID int64 // a drill given to students
	GameID       int64 // one try at one start
	ConcernID    int64 // what was told to the welfare officers
)

// Role is what a person is in a club.
type Role string

// The roles.
const (
	Coach    Role = "coach"
	Student  Role = "student"
	Guardian Role = "guardian"
	Welfare  Role = "welfare"
)

// Clock tells the time; tests set their own.
type Clock func() time.Time

// Actor is the person behind a request: who, of which club, in which role.
type Actor struct {
	Club   ClubID
	Person PersonID
	Role   Role
	Name   string
}
