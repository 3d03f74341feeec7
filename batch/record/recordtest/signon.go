package recordtest

import (
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
)

// SignsOn has people sign on at a record from now on; somebody of the name becomes its first administrator, with a password that nobody can give.
func SignsOn(t testing.TB, db *record.DB, administrator string) {
	t.Helper()
	if err := db.IssueCode(t.Context(), batch.AtTheMachine, "", "the first", time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	Must(db.UseCode(t.Context(), "the first", administrator, map[batch.SecretKind]string{batch.Password: "no hash"}))(t)
}
