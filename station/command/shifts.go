package command

import (
	"fmt"
	"strings"
	"time"
)

// shiftTimes are the times of day at which shifts begin, as the option --shifts gives them: hours and minutes, separated
// by commas. It is a flag's value.
type shiftTimes []time.Duration

// String writes the times as the option reads them.
func (s *shiftTimes) String() string {
	all := make([]string, len(*s))
	for i, at := range *s {
		all[i] = fmt.Sprintf("%02d:%02d", int(at.Hours()), int(at.Minutes())%60)
	}
	return strings.Join(all, ",")
}

// Set reads the option.
func (s *shiftTimes) Set(text string) error {
	var all shiftTimes
	for _, word := range strings.Split(text, ",") {
		at, err := time.Parse("15:04", strings.TrimSpace(word))
		if err != nil {
			return fmt.Errorf("found %q, allowed are times of day such as 06:00, separated by commas", word)
		}
		all = append(all, time.Duration(at.Hour())*time.Hour+time.Duration(at.Minute())*time.Minute)
	}
	*s = all
	return nil
}

// Type names the value in the command's help.
func (s *shiftTimes) Type() string { return "times" }
