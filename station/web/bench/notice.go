package bench

// longNotice is what of a notice stands in letters for arm's length, in bytes; the sentences after it are smaller.
const longNotice = 80

// cutNotice parts a long notice after its first sentences.
func cutNotice(text string) (front, rest string) {
	end := 0
	for i := range len(text) - 1 {
		if text[i] != '.' || text[i+1] != ' ' {
			continue
		}
		if end > 0 && i > longNotice {
			break
		}
		end = i + 1
	}
	if len(text) <= longNotice || end == 0 {
		return text, ""
	}
	return text[:end], text[end+1:]
}
