// Starts the app and the service worker.
import './shell/app.js';

if ('serviceWorker' in navigator && isSecureContext) {
  // What was read before the worker took over for the first time is read once more, so that it is kept for when there is no connection.
  if (!navigator.serviceWorker.controller) navigator.serviceWorker.addEventListener('controllerchange', () => {
    const read = (performance.getEntriesByType('resource') as PerformanceResourceTiming[]).filter((one) => one.initiatorType === 'fetch' && one.responseStatus === 200 && one.name.startsWith(`${location.origin}/api/v1/`));
    for (const name of new Set(read.map((one) => one.name))) if (!/\/(jobs|uploads|live|events)\b/.test(name)) void fetch(name).catch(() => undefined);
  }, { once: true });
  addEventListener('load', () => void navigator.serviceWorker.register('/service_worker.js').catch(() => undefined));
}
