package command

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What is wrong ends the command with the code of an answer that is no, and is said in words.
func TestDoctor(t *testing.T) {
	nowhere := filepath.Join(t.TempDir(), "nowhere")
	if code, out, errs := sagitta(t, "", "doctor", "--data", nowhere); code != exitReject || !strings.Contains(out, "wrong  Folder: There is no folder "+nowhere) {
		t.Errorf("code %d\n%s%s", code, out, errs)
	}
	if code, out, errs := sagitta(t, "", "doctor", "--data", t.TempDir()); code == exitFailed || !strings.Contains(out, "Record: There is no record in the folder yet.") {
		t.Errorf("code %d\n%s%s", code, out, errs)
	}
}

// The unit names this program, and is written without looking at any folder.
func TestDoctorWritesTheService(t *testing.T) {
	code, out, errs := sagitta(t, "", "doctor", "--service", "--data", "nowhere")
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	if code != exitDone || !strings.Contains(out, "\nExecStart="+program+" serve --data /var/lib/sagitta\n") || strings.Contains(out, "PROGRAM") {
		t.Errorf("code %d\n%s%s", code, out, errs)
	}
}
