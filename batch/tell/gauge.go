package tell

import "sagitta/batch"

// Checked says how a check of a gauge ended.
func Checked(passed bool) string {
	if passed {
		return "passed"
	}
	return "failed"
}

// Because says in words what made a check of a gauge needed.
func Because(after string) string {
	switch after {
	case batch.CheckFirstUse:
		return "it had never been checked"
	case batch.CheckShift:
		return "a shift began"
	case batch.CheckDue:
		return "its last check had run out"
	case batch.CheckFailed:
		return "its last check failed"
	case batch.CheckAskedFor:
		return "it was asked for"
	case batch.CheckReconnect:
		return "it had been unplugged"
	case batch.CheckPowerUp:
		return "it had lost power"
	case batch.CheckSilence:
		return "it had been silent and may have been switched off"
	case batch.CheckBattery:
		return "its battery was low"
	case batch.CheckDrop:
		return "it fell or was knocked"
	case batch.CheckNotWatched:
		return "it had not been watched all the time"
	case batch.CheckEntry:
		return "a change on its page changed what its readings mean"
	}
	return after
}
