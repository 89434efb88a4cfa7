// Everything works without a script; this makes it quicker and tells what is new.
import { keepLive } from "./live.js";
import { sendForms } from "./forms.js";
import { pairByPicture } from "./pair.js";

sendForms();
keepLive();
pairByPicture();
