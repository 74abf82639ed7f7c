// Worker threads do not inherit the loader that reads TypeScript: register it, then start the worker proper.
import { register } from "tsx/esm/api";

register();
await import("./frame-worker.ts");
