package public

import "drover/web/view"

// SignInPage is /in: a part for each way in. What was typed comes back to its part, but
// never a password.
type SignInPage struct {
	view.Page
	Guardian bool // somebody who asked for a guardian's page

	Lost string // what has happened to somebody who was signed in; empty: nothing

	Number string    // as typed
	Words  [4]string // as typed
	Shared bool      // others use this device, too
	Error  string    // one sentence about the card, empty at first

	Email      string
	CoachError string // one sentence about address and password

	LinkError string // one sentence for who typed a private link

	Hidden []view.Hidden // where to go on, and with what, after signing in
}
