// A thread begins on plain JavaScript: this goes on to the module of this folder that it was given by name.
import { workerData } from "node:worker_threads";
import { importCommand } from "./program.mjs";

await importCommand(workerData.entry);
