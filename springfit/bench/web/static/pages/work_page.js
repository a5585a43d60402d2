/* The page of learning and reports: what is under way is followed. */

import { watchWork } from "../work.js";

watchWork();
