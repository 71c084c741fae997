// Shows a push, and opens its page when it is tapped. The same tag again takes the place of the one that is there.
"use strict";
self.addEventListener("push", (event) => {
  const { title, body, url, tag, lang } = event.data.json();
  event.waitUntil(self.registration.showNotification(title, { body, tag, lang, data: { url } }));
});
self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(self.clients.openWindow(event.notification.data.url));
});
