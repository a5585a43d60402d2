/* The page that asks for the code. */

import { call } from "../calls.js";
import { find, say } from "../elements.js";

find("#code").addEventListener("submit", async (submit) => {
  submit.preventDefault();
  const { status, said } = await call("/call/enter", { code: find("#figures").value })
    .catch(() => ({ said: { problem: "no answer; try again" } }));
  if (status === 200) location.href = "/";
  else say(said.problem);
});
find("#figures").focus();
