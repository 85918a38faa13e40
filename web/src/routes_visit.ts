// The screens of a visit, the athlete's page, the live view (see pages/ for what they do).
import type { Route } from './routes.js';

export const visitRoutes: Route[] = [
  { path: '/visits/:visit', element: 'page-visit', load: () => import('./pages/visit.js') },
  { path: '/visits/:visit/film', element: 'page-visit', load: () => import('./pages/visit.js') },
  { path: '/visits/:visit/film/compare', element: 'page-compare', load: () => import('./pages/compare.js') },
  { path: '/visits/:visit/film/:trial', element: 'page-player', load: () => import('./pages/player.js') },
  { path: '/visits/:visit/tests', element: 'page-tests', load: () => import('./pages/tests.js') },
  { path: '/visits/:visit/tests/:protocol', element: 'page-test-entry', load: () => import('./pages/test_entry.js') },
  { path: '/visits/:visit/tests/:protocol/photo', element: 'page-protractor', load: () => import('./pages/protractor.js') },
  { path: '/visits/:visit/why', element: 'page-why', load: () => import('./pages/why.js'), needs: 'read_records' },
  { path: '/visits/:visit/what-if', element: 'page-what-if', load: () => import('./pages/what_if.js'), needs: 'read_records' },
  { path: '/visits/:visit/plan', element: 'page-plan', load: () => import('./pages/plan.js'), needs: 'read_records' },
  { path: '/visits/:visit/report', element: 'page-report', load: () => import('./pages/report.js'), needs: 'read_records' },
  { path: '/visits/:visit/live', element: 'page-live', load: () => import('./pages/live.js'), needs: 'compute' },
  { path: '/live', element: 'page-live', load: () => import('./pages/live.js'), needs: 'compute' },
  { path: '/me', element: 'page-today', load: () => import('./pages/today.js') },
  { path: '/athletes/:athlete/today', element: 'page-today', load: () => import('./pages/today.js'), needs: 'read_records' },
];
