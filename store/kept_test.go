package store_test

import (
	"testing"

	"drover/store"
)

// TestEveryTableOfAPersonIsNamed reads the schema: every table with a column that points at a
// person, by a foreign key or by its name, says how it is exported, erased and forgotten; and
// nothing is named that is not there.
func TestEveryTableOfAPersonIsNamed(t *testing.T) {
	t.Parallel()
	_, url := open(t)
	const q = `select array_agg(distinct name) from (
			select c.conrelid::regclass::text as name from pg_constraint c where c.contype = 'f' and c.confrelid = 'people'::regclass
			union all
			select table_name from information_schema.columns
			where table_schema = 'public' and column_name in ('student_id', 'person_id', 'guardian_id', 'coach_id', 'by_id', 'actor_id',
				'subject_id', 'author_id', 'reader_id', 'asked_by', 'made_by', 'given_by', 'noted_by', 'to_id', 'about_id', 'mark')
			union all
			select c.table_name from information_schema.columns c
			join information_schema.columns g using (table_schema, table_name)
			where c.table_schema = 'public' and c.column_name = 'club_id' and g.column_name in ('game_id', 'concern_id', 'placement_id', 'sheet_id')
		) t`
	named := map[string]bool{}
	for _, table := range scan[[]string](t, url, q) {
		named[table] = true
	}
	if len(named) < 30 {
		t.Errorf("only %d tables point at a person", len(named))
	}
	for what, list := range map[string]map[string]string{"export": store.Taken, "erasure": store.Erased, "retention": store.Fades} {
		for table := range named {
			if list[table] == "" {
				t.Errorf("%s does not name %s, which points at a person", what, table)
			}
		}
		for table := range list {
			const there = `select exists (select from information_schema.tables where table_schema = 'public' and table_name = $1)`
			if !scan[bool](t, url, there, table) {
				t.Errorf("%s names %s, and there is no such table", what, table)
			}
		}
	}
}
