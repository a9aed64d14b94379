// Every page: the panel, and what is said when a request cannot be answered.
import "./panel.js";
import "./notices.js";
import "./way-round.js";
