package work

// Needs counts what needs a coach, as the mail on Monday does.
var Needs = needs
