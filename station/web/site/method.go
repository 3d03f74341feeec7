package site

import "net/http"

// headAsGet answers HEAD wherever GET is answered: the server sends the head of the same answer. A live stream has no end, and so no head of its own.
func headAsGet(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodHead && r.URL.Path != "/events" {
			as := *r
			as.Method = http.MethodGet
			r = &as
		}
		next.ServeHTTP(w, r)
	})
}
