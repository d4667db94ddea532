package club

import (
	"fmt"
	"strings"

	"drover/game"
)

// deeds is what the audit's actions are called: what somebody did. A %s is whom it was
// about. Where it may be about nobody, the words after the bar are said then.
var deeds = map[string]string{
	"signed in": "signed in", "signed out": "signed out", "signed in again": "signed in again before a change",
	"session ended": "ended an own session", "all sessions ended": "ended all own sessions",
	"sign-in failed":   "tried to sign in as %s, and failed|tried to sign in, and failed",
	"sign-in refused":  "tried to sign in as %s too often|tried to sign in too often",
	"password changed": "chose a new password", "e-mail changed": "changed the own e-mail address",
	"second factor on": "turned a second factor on", "second factor off": "turned the second factor off",
	"recovery codes made": "made recovery codes", "recovery code used": "signed in with a recovery code",
	"password reset": "reset the password of %s", "factor reset": "reset the second factor of %s",
	"feed made": "made an address for a calendar", "feed ended": "ended an address for a calendar",
	"feed read": "had a calendar read the due days of %s|had a calendar read the due days",

	"mail asked": "gave an address for mail", "mail changed": "changed which mail is sent to them",
	"mail confirmed": "confirmed an address for mail", "mail ended": "took an address for mail away",
	"mail stopped": "stopped the mail of the week",

	"club made": "set the club up", "club changed": "changed the club's settings", "club as before": "undid a change of the club's settings",
	"coach added": "added %s as a coach", "coach invited": "invited a coach", "coach joined": "joined as a coach",
	"coach ended": "ended the access of %s", "owner made": "made %s an owner of the club",
	"officer invited": "invited a welfare officer", "officer joined": "joined as a welfare officer",
	"officer ended": "ended the access of %s", "welfare contact changed": "changed whom children can turn to",
	"access barred": "barred %s", "access given back": "gave %s the access back",

	"student added": "added %s", "student changed": "changed what is kept of %s", "student as before": "undid a change of %s",
	"consent noted": "noted the consent for %s", "consent corrected": "corrected the consent for %s", "card made": "made a new card for %s",
	"consent given": "consented to the practice of %s", "consent withdrawn": "took consent for %s back",
	withdrawalNoted:       "noted that consent for %s was taken back",
	"consent given again": "noted from paper that consent for %s is given again", "guardian parted": "parted a guardian from %s",
	"guardian joined": "made somebody a guardian of %s",
	"guardian added":  "added %s as a guardian", "guardian changed": "changed the name of %s",
	"guardian as before":   "undid a change of the name of %s",
	"guardian's link made": "made a private link for %s", "guardian's link renewed": "renewed the private link of %s",
	"guardian's link stopped": "stopped the private link of %s",
	"group made":              "made a group", "group changed": "changed a group", "group as before": "undid a change of a group",
	"season changed": "ended the season", "season as before": "undid the end of the season",

	"drill made": "made a drill", "drill changed": "changed a drill", "drill as before": "undid a change of a drill",
	"drill assigned": "set a drill", "drill given": "set a drill for %s", "drill withdrawn": "withdrew a drill of %s|withdrew a drill",
	"assignment changed": "changed what is set", "assignment as before": "undid a change of what is set",
	"ready drills put on the shelf": "put ready drills on the shelf", "games imported": "took in games from elsewhere",
	"plan made": "made a term plan", "plan changed": "changed a term plan", "plan as before": "undid a change of a term plan",
	"starting check begun": "began a starting check for %s", "starting check ended": "finished the starting check",
	"test watched": "noted that they watched a test of %s", "watched changed": "noted that they watched a test",
	"watched as before": "took back that they watched a test",

	"erasure asked": "asked that %s be erased", "erasure confirmed": "confirmed that %s be erased",
	"erasure stopped": "stopped the erasure of %s", "erased": "%s was erased",
	"notice changed": "put a new notice in force", "keeping changed": "changed for how long things are kept",
	"export asked":      "asked for an export of %s|asked for an export of the whole club",
	"export fetched":    "fetched an export of %s|fetched an export of the whole club",
	"export gone":       "an export of %s went|an export of the whole club went",
	"term report begun": "began a report on a term of %s", "term report changed": "changed a report on a term of %s",
	"term report signed": "signed a report on a term of %s", "term report dropped": "threw a report on a term of %s away",

	"students read": "read a list of students", "cards read": "read a sheet of cards", "register read": "read the register",
	"students taken along": "took the list of students along as a file", "stages taken along": "took the stage view along as a file",
	"student's form read": "read what is kept of %s", "student's consent read": "read the consent for %s",
	"student's page read": "read the page of %s", "student's card read": "read the page of the card of %s",
	"guardian's link read": "read a guardian's link for %s", "hand-over read": "read the page for handing over",
	"drills read": "read the list of drills and who has them", "drill read": "read a drill and who has it",
	"grid read": "read what is set", "first page read": "read what needs a coach", "proposals read": "read what comes next",
	"stages read": "read the stage view", "certificate read": "read a certificate of %s", "report read": "read the report of %s",
	"erasures read": "read which erasures are asked for", "erasure's page read": "read the page to ask for the erasure of %s",
	"consent read": "read the consent for %s", "consents read": "read which consents were taken back",
	"data page read": "read the page of an export of %s", "exports read": "read the list of exports",
	"card's page read": "read the page of the card of %s", "guardians of a sibling read": "looked for a brother or sister of %s",
	"sibling's guardians read": "read who the guardians of %s are",
	"term reports read":        "read the list of reports on terms of %s", "term report read": "read a report on a term of %s",
	"game watched": "watched a game of %s|watched a game of their own", "game read": "read a game of %s|read a game",
	"game's watch page read": "opened the page to watch a game of %s|opened the page to watch a game",
	"game taken along":       "took a game of %s along as a file|took a game along as a file",

	"concern opened": "opened a concern", "concern closed": "closed a concern", "concern reopened": "opened a closed concern again",
	"concern noted": "noted something of a concern", "concern read": "read the page of a concern",
	"games opened": "opened the games of %s for an hour", "games listed": "read the list of games of %s",
	"audit read": "read who read what", "guardians read": "read the list of guardians",
}

// withdrawalNoted is what staff do who note that a guardian has taken consent back.
const withdrawalNoted = "withdrawal noted"

// Deed says in words what somebody did, from an action of the audit; by is the role of who did
// it, about whom it was about, empty where it was about nobody, or about somebody who is not
// kept any more.
func Deed(action string, by game.Role, about string) string {
	if action == "consent withdrawn" && (by == game.Coach || by == game.Welfare) {
		action = withdrawalNoted
	}
	full, alone, either := strings.Cut(deeds[action], "|")
	switch {
	case full == "":
		return action
	case !strings.Contains(full, "%s"):
		return full
	case about == "" && either:
		return alone
	case about == "":
		about = "somebody who is not kept any more"
	}
	return fmt.Sprintf(full, about)
}

// HasWords says whether an action of the audit has words.
func HasWords(action string) bool { return deeds[action] != "" }
