// Asks the browser for a subscription to pushes and gives it to the service. The section stays hidden where the browser has none.
"use strict";
(() => {
  const section = document.getElementById("device");
  if (!section || !("serviceWorker" in navigator) || !("PushManager" in window)) return;
  const button = section.querySelector("button");
  const status = section.querySelector("[role=status]");
  section.hidden = false;

  async function subscribe() {
    if ((await Notification.requestPermission()) !== "granted") return section.dataset.refused;
    const registration = (await navigator.serviceWorker.getRegistration()) ?? (await navigator.serviceWorker.register(section.dataset.worker));
    await waitFor(registration);
    const known = await registration.pushManager.getSubscription();
    const { endpoint, keys } = (known ?? (await registration.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: section.dataset.key }))).toJSON();
    const body = new URLSearchParams({ form_token: section.dataset.formToken, endpoint, p256dh: keys.p256dh, auth: keys.auth });
    const answer = await fetch(section.dataset.address, { method: "POST", body });
    return (await answer.json()).said;
  }

  function waitFor(registration) {
    const worker = registration.installing ?? registration.waiting ?? registration.active;
    if (worker.state === "activated") return Promise.resolve();
    return new Promise((activated) => worker.addEventListener("statechange", () => worker.state === "activated" && activated()));
  }

  button.addEventListener("click", async () => {
    button.disabled = true;
    try {
      status.textContent = await subscribe();
    } catch {
      status.textContent = section.dataset.failed;
    }
    button.disabled = false;
  });
})();
