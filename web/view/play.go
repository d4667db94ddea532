package view

// PlayPage is /play/{id}, and /watch/{id} of a coach. The game arrives by the socket; a
// student's page has its board already, so that it is there with the first paint.
type PlayPage struct {
	Page
	Game   string // id, goes into the socket's address
	Person string // id of who plays or watches
	Title  string // "Bishop and knight"
	Sub    string // "drill 3, start 2 of 4"
	Again  bool   // a new try can be begun
	Aim    string // what to try for now; empty where the socket says it first
	Board  Sketch // where the game stands; without a FEN it comes by the socket

	Trial         string // a coach tries a drill out: the drill's address
	Leave         string // what goes away from the game: "Enough for today"
	Coach         bool   // a coach watches
	Student, Name string // then: the student's id and name
}

// playModules are the modules of the board page, named early so that the browser
// need not find them one after another.
var playModules = []string{"model.js", "dom.js", "paint.js", "board.js", "socket.js", "outbox.js", "trail.js",
	"verdict.js", "end.js", "help.js", "why.js", "play.js"}
