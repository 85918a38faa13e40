// Addresses are the state: every screen has one, back and forward work, links are links.
import type { Params, Route } from '../routes.js';

export interface Place { route: Route | undefined; params: Params; query: URLSearchParams; path: string }
type Listener = (place: Place) => void;

let known: Route[] = [];
let listener: Listener = () => undefined;
/** Asked before leaving; answers false to stay. */
let guard: (() => boolean | Promise<boolean>) | undefined;
/** The address of the page that is shown. */
let here = '';

export function guardLeaving(ask: typeof guard): void { guard = ask; }

export function matchPath(pattern: string, path: string): Params | undefined {
  const want = pattern.split('/');
  const have = path.replace(/\/+$/, '').split('/');
  if (path === '/') have.splice(0, have.length, '', '');
  if (want.length !== have.length) return undefined;
  const params: Params = {};
  for (let i = 0; i < want.length; i++) {
    if (want[i]!.startsWith(':')) params[want[i]!.slice(1)] = decodeURIComponent(have[i]!);
    else if (want[i] !== have[i]) return undefined;
  }
  return params;
}

export function placeOf(url: URL): Place {
  for (const route of known) {
    const params = matchPath(route.path, url.pathname);
    if (params) return { route, params, query: url.searchParams, path: url.pathname };
  }
  return { route: undefined, params: {}, query: url.searchParams, path: url.pathname };
}

/** Goes to an address of the app. `replace`: the present one does not stay in the history. */
export async function go(address: string, how: { replace?: boolean } = {}): Promise<void> {
  if (guard && !(await guard())) return;
  guard = undefined;
  const url = new URL(address, location.href);
  if (how.replace) history.replaceState(null, '', url);
  else if (url.href !== location.href) history.pushState(null, '', url);
  if (!how.replace) scrollTo(0, 0);
  show(url);
}
function show(url: URL): void {
  here = url.href;
  listener(placeOf(url));
}

/** Back and forward of the browser: a page that asks before it is left is put back into the history while it asks. */
async function cameBack(): Promise<void> {
  if (guard && here) {
    history.pushState(null, '', here);
    if (!(await guard())) return;
    guard = undefined;
    return history.back();
  }
  show(new URL(location.href));
}

/** Changes the query of this address without loading the page again. */
export function keepInAddress(query: Record<string, string | undefined>): void {
  const url = new URL(location.href);
  for (const [key, value] of Object.entries(query)) {
    if (value) url.searchParams.set(key, value);
    else url.searchParams.delete(key);
  }
  history.replaceState(null, '', url);
  here = url.href;
}

function followLinks(event: MouseEvent): void {
  if (event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
  const link = event.composedPath().find((node): node is HTMLAnchorElement => node instanceof HTMLAnchorElement);
  if (!link || link.target || link.hasAttribute('download') || link.origin !== location.origin) return;
  if (link.pathname.startsWith('/api/') || link.getAttribute('href')?.startsWith('#')) return;
  event.preventDefault();
  void go(link.href);
}

export function startRouter(routes: Route[], onPlace: Listener): void {
  known = routes;
  listener = onPlace;
  addEventListener('popstate', () => void cameBack());
  document.addEventListener('click', followLinks);
  show(new URL(location.href));
}
