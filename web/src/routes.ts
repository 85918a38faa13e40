// Every screen with its address. A page is fetched when it is first shown (code splitting by page).
export type Params = Record<string, string>;
export interface Route {
  path: string;
  /** The name of the page's element, defined by the module that `load` fetches. */
  element: string;
  load: () => Promise<unknown>;
  /** May be shown without a session. */
  open?: boolean;
  /** The permission that the page needs; without it the page says so. */
  needs?: string;
}
import { visitRoutes } from './routes_visit.js';

export const routes: Route[] = [
  { path: '/', element: 'page-caseload', load: () => import('./pages/caseload.js') },
  { path: '/start', element: 'page-start', load: () => import('./pages/start.js'), open: true },
  { path: '/sign-in', element: 'page-sign-in', load: () => import('./pages/sign_in.js'), open: true },
  { path: '/join', element: 'page-join', load: () => import('./pages/join.js'), open: true },
  { path: '/athletes/new', element: 'page-new-athlete', load: () => import('./pages/new_athlete.js'), needs: 'write_records' },
  { path: '/athletes/:athlete', element: 'page-athlete', load: () => import('./pages/athlete.js'), needs: 'read_visits' },
  { path: '/athletes/:athlete/body', element: 'page-body', load: () => import('./pages/body.js'), needs: 'write_records' },
  { path: '/settings', element: 'page-settings', load: () => import('./pages/settings.js') },
  { path: '/settings/people', element: 'page-people', load: () => import('./pages/people.js'), needs: 'administer' },
  { path: '/settings/sessions', element: 'page-sessions', load: () => import('./pages/sessions.js') },
  { path: '/settings/tokens', element: 'page-tokens', load: () => import('./pages/tokens.js') },
  { path: '/settings/safekeeping', element: 'page-safekeeping', load: () => import('./pages/safekeeping.js'), needs: 'administer' },
  { path: '/settings/audit', element: 'page-audit', load: () => import('./pages/audit.js'), needs: 'read_audit' },
  { path: '/protocols', element: 'page-protocols', load: () => import('./pages/protocols.js') },
  { path: '/protocols/new', element: 'page-protocol-edit', load: () => import('./pages/protocol_edit.js'), needs: 'write_records' },
  { path: '/protocols/:id/edit', element: 'page-protocol-edit', load: () => import('./pages/protocol_edit.js'), needs: 'write_records' },
  { path: '/protocols/:protocol', element: 'page-protocols', load: () => import('./pages/protocols.js') },
  { path: '/drills', element: 'page-drills', load: () => import('./pages/drills.js') },
  { path: '/drills/new', element: 'page-drill-edit', load: () => import('./pages/drill_edit.js'), needs: 'write_records' },
  { path: '/drills/:id/edit', element: 'page-drill-edit', load: () => import('./pages/drill_edit.js'), needs: 'write_records' },
  { path: '/drills/:drill', element: 'page-drills', load: () => import('./pages/drills.js') },
  { path: '/records/:record/versions', element: 'page-history', load: () => import('./pages/history.js') },
  ...visitRoutes,
];
