package public

import "drover/web/view"

// OpenPage is /open, where a card's pattern or a private link arrives. Expired
// draws the sentence for a link or card that no longer works.
//
// In names the person who is signed in in this browser already; then the page
// asks first.
type OpenPage struct {
	view.Page
	In, Token string
	Expired   bool
	Guardian  bool // the link says that it is a guardian's
	Shared    bool // a child says that others use the device, too
}

// SetupPage is /setup, the first run. Token comes back in a refused form; at
// first it is empty and the page's module takes it from behind the #.
type SetupPage struct {
	view.Page
	Token                               string
	Club, Name, Email, Welfare, Contact string
	Spent                               bool // the link was used or is too old
	Errors                              view.Errors
}

// JoinPage is /join. The password is never given back.
type JoinPage struct {
	view.Page
	Token, Name, Email string
	Spent              bool // the link was used or is too old
	Errors             view.Errors
}
