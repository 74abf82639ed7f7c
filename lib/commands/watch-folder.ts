import { type FSWatcher, readdirSync, statSync, watch } from "node:fs";
import { join } from "node:path";

/**
 * Tells of every change of a file below a folder, those of folders that come later included. Each folder is watched by
 * itself, and folders whose name `isLeftOut` names are not: the system's own watching of a whole tree follows each file,
 * those that a build writes too, and fails where a folder goes while it is looked at.
 */
export function watchFolder(
  root: string,
  isLeftOut: (name: string) => boolean,
  onChange: (file: string) => void,
): { close: () => void } {
  const watchers = new Map<string, FSWatcher>();

  const drop = (dir: string) => {
    for (const [path, watcher] of watchers) {
      if (path !== dir && !path.startsWith(join(dir, "/"))) continue;
      watcher.close();
      watchers.delete(path);
    }
  };
  const add = (dir: string) => {
    if (watchers.has(dir)) return;
    try {
      const watcher = watch(dir, (_, name) => {
        if (name === null || isLeftOut(name)) return;
        const path = join(dir, name);
        // A folder of this name may be another one now, and what is in it came unseen.
        drop(path);
        if (statSync(path, { throwIfNoEntry: false })?.isDirectory()) add(path);
        onChange(path);
      });
      watcher.on("error", () => drop(dir));
      watchers.set(dir, watcher);
      for (const entry of readdirSync(dir, { withFileTypes: true }))
        if (entry.isDirectory() && !isLeftOut(entry.name)) add(join(dir, entry.name));
    } catch (error) {
      // It went while it was looked at.
      if ((error as NodeJS.ErrnoException).code !== "ENOENT") throw error;
      drop(dir);
    }
  };

  add(root);
  return {
    close() {
      for (const watcher of watchers.values()) watcher.close();
      watchers.clear();
    },
  };
}
