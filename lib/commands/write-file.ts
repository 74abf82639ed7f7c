import { constants } from "node:fs";
import { copyFile, link, open, rename, unlink } from "node:fs/promises";
import { basename, dirname, join } from "node:path";

async function writeBeside(path: string, text: string | Uint8Array): Promise<string> {
  const temporary = join(dirname(path), `.${basename(path)}.${process.pid}.part`);
  const handle = await open(temporary, "w");
  try {
    await handle.writeFile(text);
    await handle.sync();
  } catch (error) {
    // A full disk is not to be left fuller by the half that went in.
    await unlink(temporary).catch(() => undefined);
    throw error;
  } finally {
    await handle.close();
  }
  return temporary;
}

/** Writes a file whole or not at all: under another name first, then in its place. */
export async function replaceFile(path: string, text: string | Uint8Array): Promise<void> {
  const temporary = await writeBeside(path, text);
  try {
    await rename(temporary, path);
  } catch (error) {
    await unlink(temporary).catch(() => undefined);
    throw error;
  }
}

/** Like replaceFile, but never over a file that is there: false then, and nothing is changed. */
export async function writeNewFile(path: string, text: string): Promise<boolean> {
  const temporary = await writeBeside(path, text);
  try {
    // A rename would overwrite what another program has put there meanwhile; a link does not.
    await link(temporary, path).catch(async (error: NodeJS.ErrnoException) => {
      if (error.code === "EEXIST") throw error;
      await copyFile(temporary, path, constants.COPYFILE_EXCL);
    });
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === "EEXIST") return false;
    throw error;
  } finally {
    await unlink(temporary).catch(() => undefined);
  }
}
