// The one door to pdf.js: fetched only when a paper is looked at, its worker from the same place.
import '../worker/with_resolvers.js';
import { getDocument, GlobalWorkerOptions, type PDFDocumentProxy, type PDFPageProxy, type RenderTask } from 'pdfjs-dist';

/** Address of the worker; build.mjs writes it in. */
declare const PDF_WORKER: string;
GlobalWorkerOptions.workerSrc = PDF_WORKER;

export type { PDFDocumentProxy as Paper, PDFPageProxy as PaperPage, RenderTask };

/** Code inside of a paper is never run, forms are not filled in: it is only looked at. */
export function openPaper(bytes: ArrayBuffer): Promise<PDFDocumentProxy> {
  return getDocument({ data: bytes, isEvalSupported: false, enableXfa: false }).promise;
}

/** What stands on a page, line by line, for ears. */
export async function linesOf(page: PDFPageProxy): Promise<string[]> {
  const { items } = await page.getTextContent();
  const lines = [''];
  for (const item of items) {
    if (!('str' in item)) continue;
    lines[lines.length - 1] += item.str;
    if (item.hasEOL) lines.push('');
  }
  return lines.map((line) => line.replace(/\s+/g, ' ').trim()).filter(Boolean);
}
