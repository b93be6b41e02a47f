// The service worker opens the logger where the machine does not answer. A newer one waits until no screen is open:
// a session that is under way goes on with the script that it began with.

async function install() {
  if (!navigator.serviceWorker) return; // plain HTTP: the page itself still keeps every tap while it is open
  const registration = await navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" });
  const tell = () => { const note = document.getElementById("newer"); if (note) note.hidden = !registration.waiting; };
  tell();
  registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", tell));
}

install().catch(() => {}); // without it everything works but the cold start without a network
