/* The page that stands while the book is being read: it goes on by itself. */

import { call } from "../calls.js";

async function waitUntilRead() {
  const answer = await call("/call/read").catch(() => null);
  if (answer && (answer.said.read || answer.status === 500)) location.reload();
  else setTimeout(waitUntilRead, answer ? 250 : 2000);
}

waitUntilRead();
