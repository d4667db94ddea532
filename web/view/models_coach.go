package view

// StudentsPage is /students.
type StudentsPage struct {
	Page
	Rows []StudentRow
	Form StudentForm
}

// StudentRow is one line of the roster.
type StudentRow struct {
	ID     string
	Name   string
	Number string // as printed on the card
	Last   string // last practice, "yesterday" or "not yet"
	Games  int
	Card   string // the day on which it was made, "3 November", or "none yet"
}

// StudentForm is the form that adds a student.
type StudentForm struct {
	Name      string
	ConsentBy string // guardian who agreed
	ConsentOn string // 2026-11-24
	Consent   bool
	Wording   int  // 8 or 14
	Same      bool // another child has this nickname, and that is meant
	Errors    Errors
}

// StudentPage is /students/{id}.
type StudentPage struct {
	Page
	ID, Name, Number string
	Card             string // "Made on 3 November", "No card yet"
	HasCard          bool
	Consent          string // "Tove's guardian Una agreed on 4 September."
	Guardians        []GuardianRow
	GuardianName     string // as typed in a refused form
	Stuck            []StuckRow
	Next             *NextDrill // nil: everything is mastered or waits for its check
	Endings          []EndingMarks
	Check            *CheckResult // nil: not for this student
	Finding          string       // "Drive to the edge, rook, 93 %", "None stands out so far"
	Games            []GameRow
	Errors           Errors
}

// GuardianRow is one guardian and the state of the private link.
type GuardianRow struct {
	ID, Name string
	Link     string // "works until 31 December", "stopped"
	Live     bool   // it can be stopped
}

// GameRow is one game in a list.
type GameRow struct {
	ID     string // opens /games/{id}
	Day    string
	Title  string // "Rook, drill 3, start 2"
	Result string // "clean", "over par", "not won, lost at the corner"
}

// CardPage is a card that has just been made. Its secrets are shown for ten
// minutes.
type CardPage struct {
	Page
	StudentID    string
	Name, Number string
	Man          string // a man of one's own: K Q R B N P, lower case for the dark one
	Words        []string
	QR           [][]bool // true is dark, rows from the top, no quiet zone
	Address      string   // where to type the words, without scheme
	Made         string   // "25 November 2026"
}

// LinkPage is a guardian's private link. It is shown for ten minutes.
type LinkPage struct {
	Page
	StudentID, Student, Guardian string
	URL                          string
	QR                           [][]bool
	Until                        string // "23 February"
}

// OverPage stands where a card or a link is not shown any more, and offers a new
// one.
type OverPage struct {
	Page
	Title              string // "Card for Wren"
	Say                string // why it is not shown
	StudentID, Student string
	Ask                string // "Was it not printed in time?"
	Post, Button       string // makes a new one
	Hint               string // what that ends
}

// DrillsPage is /drills.
type DrillsPage struct {
	Page
	Rows []DrillRow
}

// DrillRow is one drill of the shelf and who has it.
type DrillRow struct {
	ID      string
	Ending  Ending
	Name    string // "Rook: drive to the edge, then mate"
	Line    string // "against a king that holds out longest, 4 starts"
	Who     []string
	Has     int // students who have it
	Through int // of those, through with it
}

// DrillNewPage is /drills/new with the form and two of its starts.
type DrillNewPage struct {
	Page
	Title                             string // "Rook: drive to the edge, then mate"
	Endings                           []EndingChoice
	Holds                             []EndingChoice // hold drills
	From, To                          []Choice       // all stages; the page's module narrows them by ending
	Defenders                         []Choice
	Modes                             []Choice
	Kinds                             []Choice // of starts; "pasted" takes FENs instead
	FENs                              string   // as pasted
	Helps                             []Choice // several may be chosen
	Passes                            []Choice // what passes the drill
	Allowances, Takes                 []Choice // moves over par, and take-backs
	Count, Least, Most, Budget, Clock string   // as typed
	Name                              string
	Seed                              string
	For                               string      // ids of students to give it to, with commas; may be empty
	Starts                            []StartCard // at most two are drawn
	Facts                             []Fact      // of the starts
	Line                              string      // the whole drill in one line
	Errors                            Errors
}

// EndingChoice is one ending to choose, with the stages that its plan has.
type EndingChoice struct {
	Ending
	Value  string // as posted
	Chosen bool
	Stages []string // stage ids in order
}

// Fact is one line of a list of facts.
type Fact struct{ Name, Say string }

// StartCard is one start position.
type StartCard struct {
	FEN string
	No  string // "1 of 24"
	Say string // "mate in 13"
}

// AssignPage is /drills/{id}.
type AssignPage struct {
	Page
	ID       string
	Name     string
	Line     string
	Starts   []StartCard // at most four are drawn
	Students []AssignRow
	Due      string // 2026-11-27, as typed
	Errors   Errors
}

// AssignRow is one student to give the drill to.
type AssignRow struct {
	ID, Name string
	Chosen   bool
	Has      string // "1 of 4 starts done, due Thursday", empty if not given yet
}

// StagesPage is /stages.
type StagesPage struct {
	Page
	Finding []Part // the h1
	Action  *Link  // the one main action, may be nil
	Why     string // the reason for the drill that the action sets, may be empty
	Stuck   []StuckRow
	Chosen  string // ending id for narrow pages, as asked by ?ending=
	Endings []StageColumns
	Rows    []StageRow
	Holds   HoldsTable
}

// HoldsTable is the table of hold drills: students down, endings across.
type HoldsTable struct {
	Names []string
	Rows  []HoldRow
}

// HoldRow is one student's draws, one cell per ending.
type HoldRow struct {
	ID, Name string
	Cells    []HoldCell
}

// HoldCell is one student's draws of one ending.
type HoldCell struct {
	Bars []bool // one per game, oldest first: whether it was held alone
	Say  string // "3 of 5 held, 2 alone"
}

// Link is an address and its words.
type Link struct{ Href, Label string }

// StuckRow is a student who is stuck in a drill.
type StuckRow struct {
	Say  string // "Wren: stuck in the rook drill, three in a row not won"
	Why  string // the reason for the proposal
	Href string // the student's page
	Set  Link   // the drill that is proposed
}

// NextDrill is the drill that is proposed for a student.
type NextDrill struct {
	Stage string // stage id of its mark
	Title string // "Rook: drive to the edge, then mate"
	Line  string // "guided, at random, against a king that seeks the centre"
	Why   string
	Set   Link
}

// CheckResult is a student's starting check as the coach sees it.
type CheckResult struct {
	Say   string
	Tasks []CheckTask
	Begin string // the button that begins one, empty: none
}

// CheckTask is one of its tasks and what came of it.
type CheckTask struct{ Ask, Said string }

// StageColumns is one ending with its stages: a group of columns.
type StageColumns struct {
	Ending
	Stages []string
}

// StageRow is one student. Cells follow the order of the columns of all endings.
type StageRow struct {
	ID, Name string
	Cells    []StageCell
	Weak     *Weakness // nil where none is named
	Say      string    // then why: "None stands out so far"
}

// StageCell is what one student did in one stage.
type StageCell struct {
	Bars  []bool // one per game, oldest first, true is clean; at most the last ten
	Clean int
	Of    int    // games in which the stage was entered; 0 draws '-'
	Href  string // the games behind it
	Weak  bool   // the stage that is named
	Bell  bool   // the stage is mastered
}

// Weakness is the stage that is named for a student.
type Weakness struct {
	Ending string // its id
	Stage  string // stage id
	Line   string // "bishop and knight: 17 of 46 moves went wrong"
	Habit  string // "wrong corner", empty if none shows
}
