// Follows a running job: asks for this page again, shows how far it is, and moves on when the job has ended.

const EVERY_MS = 1500;

async function look() {
  const answer = await fetch(location.href, { headers: { Accept: "text/html" }, redirect: "follow" });
  if (!answer.ok) return true;
  if (answer.redirected) {
    location.replace(answer.url);
    return false;
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const news = page.getElementById("job");
  if (!news) {
    location.reload();
    return false;
  }
  const shown = document.getElementById("job");
  if (shown.innerHTML !== news.innerHTML) shown.replaceChildren(...news.childNodes);
  return true;
}

async function follow() {
  try {
    if (await look()) setTimeout(follow, EVERY_MS);
  } catch {
    // The network is away for a moment: ask again later.
    setTimeout(follow, 4 * EVERY_MS);
  }
}

setTimeout(follow, EVERY_MS);
