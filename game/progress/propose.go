package progress

// trainers are the defenders of each ending in the order of teaching (common
// practice): the first for learning, the last for a test. They are data: an
// ending without a row has the longest.
var trainers = map[string][]string{
	"KRRK": {"chase", "test"},
	"KQK":  {"centre", "corner", "test"},
	"KRK":  {"centre", "chase", "longest"},
	"KBBK": {"centre", "longest"},
	"KBNK": {"centre", "corner", "test"},
}

// Trainer is the defender against whom an ending is learned.
func Trainer(code string) string {
	if row := trainers[code]; len(row) > 0 {
		return row[0]
	}
	return "longest"
}

// Tester is the defender against whom a test of an ending is played.
func Tester(code string) string {
	if row := trainers[code]; len(row) > 0 {
		return row[len(row)-1]
	}
	return "longest"
}
