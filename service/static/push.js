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
    const registration = await navigator.serviceWorker.ready; // family.js has asked for it
    const known = await registration.pushManager.getSubscription();
    const { endpoint, keys } = (known ?? (await registration.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: section.dataset.key }))).toJSON();
    const body = new URLSearchParams({ form_token: section.dataset.formToken, endpoint, p256dh: keys.p256dh, auth: keys.auth });
    const answer = await fetch(section.dataset.address, { method: "POST", body });
    return (await answer.json()).said;
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
