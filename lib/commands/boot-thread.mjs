// A thread begins on plain JavaScript: this registers the compiler and goes on to the module it was given.
import { workerData } from "node:worker_threads";
import { register } from "tsx/esm/api";

register();
await import(workerData.entry);
