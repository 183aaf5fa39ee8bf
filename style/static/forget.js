// Whoever reads the page to sign in is signed out: what the bench has kept of its pages for a lost line is none of theirs.
// Presses not sent yet stay; they are sent once somebody signs in again.
if ("caches" in globalThis) caches.delete("bench-pages");
