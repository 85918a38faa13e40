// Starts the app and the service worker.
import './shell/app.js';

if ('serviceWorker' in navigator && isSecureContext) {
  addEventListener('load', () => void navigator.serviceWorker.register('/service_worker.js').catch(() => undefined));
}
