package work

// Needs counts what needs a coach, as the mail on Monday does.
var Needs = needs

// LetterWait is how long a mail waits after so many tries.
var LetterWait = letterWait
