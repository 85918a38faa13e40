// What reads a paper's file, beside the page: pdf.js's worker as one file of this server.
import './with_resolvers.js';
// @ts-expect-error it comes without types
export { WorkerMessageHandler } from 'pdfjs-dist/build/pdf.worker.mjs';
