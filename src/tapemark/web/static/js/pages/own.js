import { dropping } from "./drop.js";

dropping();
