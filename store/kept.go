package store

// Taken says of every table that points at a person how it comes into an export of a child:
// 'in it', 'as what follows from it' where the rows themselves say no more, or why it is not.
var Taken = map[string]string{
	"people": "in it", "members": "in it", "consents": "in it", "own_settings": "in it", "assignees": "in it", "assignments": "in it",
	"drills": "in it", "games": "in it", "acts": "in it", "stage_results": "in it", "kept_trials": "as what follows from it: the stages",
	"bells": "in it", "placements": "in it", "placement_tasks": "in it", "term_reports": "in it", "audit": "in it",
	"overviews": "as what follows from it: the stages",
	"watched":   "no: it names an adult",
	"guardians": "no: it names other guardians", "attended": "no: a coach's own list of what is done", "plans": "no: of a whole group",
	"groups": "no: their names stand in it", "concerns": "no: the welfare officer's alone", "concern_notes": "no: the welfare officer's alone",
	"reasons": "no: the welfare officer's alone", "bars": "no: the welfare officer's alone",
	"keys": "no: secrets", "shown": "no: secrets, for ten minutes", "sheets": "no: secrets, for an hour", "sheet_cards": "no: secrets, for an hour",
	"forms": "no: numbers of forms, for a day", "changes": "no: for a day, to undo", "exports": "no: itself", "erasures": "no: ids alone",
	"addresses": "no: a guardian's own", "letters": "no: that a mail was sent to an adult", "factors": "no: of adults", "recoveries": "no: of adults", "invites": "no: of adults", "substitutes": "no: of adults",
	"notices": "no: of adults", "notice_texts": "no: of the club",
}

// Fades says of every table that points at a person when its rows go by themselves.
var Fades = map[string]string{
	"games": "after the club's months", "acts": "after the club's months", "watched": "with its game",
	"audit": "after the club's months", "people": "a child's, some months after it left; an adult's stay as who did what",
	"forms": "after a day", "shown": "after ten minutes", "sheets": "after an hour", "sheet_cards": "after an hour",
	"changes": "after a day", "exports": "after a day", "keys": "when they end; a card with its child",
	"stage_results": "with the child", "kept_trials": "with the child", "bells": "with the child", "overviews": "with the child",
	"placements": "with the child", "placement_tasks": "with the child", "members": "with the child", "assignees": "with the child",
	"consents": "with the child", "guardians": "with the child", "own_settings": "with the child", "term_reports": "with the child",
	"attended": "with the child", "erasures": "never: ids alone, so that it is known what was erased",
	"concerns": "never by themselves", "concern_notes": "never by themselves", "reasons": "with the child", "bars": "never: who stopped whom",
	"drills": "never: the club's stock", "assignments": "never: what was set", "plans": "never: the club's", "groups": "never: the club's",
	"addresses": "when the person takes it away", "letters": "after 60 days",
	"notice_texts": "never: what was agreed to", "notices": "when it was read", "factors": "with the access", "recoveries": "with the access",
	"invites": "when they end", "substitutes": "with the access",
}
