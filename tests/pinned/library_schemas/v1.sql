PRAGMA user_version = 1;
PRAGMA application_id = 1953525099;
BEGIN TRANSACTION;
CREATE TABLE revisions (
        thing TEXT NOT NULL REFERENCES things (id) ON DELETE CASCADE,
        revision INTEGER NOT NULL,
        version INTEGER NOT NULL,
        PRIMARY KEY (thing, revision)
    ) WITHOUT ROWID
    ;
INSERT INTO "revisions" VALUES('26c77ef329dd42178506379e389aae9f',1,1);
INSERT INTO "revisions" VALUES('3db20f1a9ede4f1a9c360bb42857acd8',1,1);
INSERT INTO "revisions" VALUES('ace276fb87f547eca8b0d264dfe77fbf',1,1);
INSERT INTO "revisions" VALUES('c0e5f5ff32d94323af44b34a4bb70a5a',1,1);
INSERT INTO "revisions" VALUES('eeb5c380eec84ade9e623d39d75a7f1a',1,1);
INSERT INTO "revisions" VALUES('eeb5c380eec84ade9e623d39d75a7f1a',2,1);
INSERT INTO "revisions" VALUES('f0b76271e5c346e2b4a2abcc51111df4',1,1);
INSERT INTO "revisions" VALUES('f0b76271e5c346e2b4a2abcc51111df4',2,2);
INSERT INTO "revisions" VALUES('f0b76271e5c346e2b4a2abcc51111df4',3,1);
INSERT INTO "revisions" VALUES('f0b76271e5c346e2b4a2abcc51111df4',4,3);
INSERT INTO "revisions" VALUES('f0b76271e5c346e2b4a2abcc51111df4',5,4);
INSERT INTO "revisions" VALUES('f0b76271e5c346e2b4a2abcc51111df4',6,3);
INSERT INTO "revisions" VALUES('f9f0d7592a7e4859a7622c7cdd0ffccf',1,1);
CREATE TABLE things (
        id TEXT PRIMARY KEY NOT NULL,
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        words TEXT NOT NULL,
        revision INTEGER NOT NULL,
        version INTEGER NOT NULL,
        changed_at TEXT NOT NULL,
        binned INTEGER NOT NULL DEFAULT 0 CHECK (binned IN (0, 1)),
        FOREIGN KEY (id, version) REFERENCES versions (thing, number)
            DEFERRABLE INITIALLY DEFERRED
    );
INSERT INTO "things" VALUES('f0b76271e5c346e2b4a2abcc51111df4','setup','Quillmere, first try','
quillmere, first try
400 ws studio head
medium softbox 60x90 cm
key
200 ws studio head
reflected umbrella 110 cm
fill
ines''s reading-room glasses
ines, reader services
quillmere library, reading room: first try
',6,3,'2026-11-26T00:48:07.046114Z',0);
INSERT INTO "things" VALUES('c0e5f5ff32d94323af44b34a4bb70a5a','room','room of the reading room','
room of the reading room
',1,1,'2026-11-26T00:48:07.049547Z',0);
INSERT INTO "things" VALUES('3db20f1a9ede4f1a9c360bb42857acd8','sitter','sitter of the reading room','
sitter of the reading room
ines''s reading-room glasses
ines, reader services
',1,1,'2026-11-26T00:48:07.059320Z',0);
INSERT INTO "things" VALUES('f9f0d7592a7e4859a7622c7cdd0ffccf','glasses','glasses of the reading room','
glasses of the reading room
ines''s reading-room glasses
',1,1,'2026-11-26T00:48:07.065967Z',0);
INSERT INTO "things" VALUES('26c77ef329dd42178506379e389aae9f','gear','Zoë''s 400 Ws head','
zoe''s 400 ws head
400 ws studio head
medium softbox 60x90 cm
',1,1,'2026-11-26T00:48:07.076699Z',0);
INSERT INTO "things" VALUES('ace276fb87f547eca8b0d264dfe77fbf','session','portrait day','
portrait day
ines
',1,1,'2026-11-26T00:48:07.078761Z',0);
INSERT INTO "things" VALUES('eeb5c380eec84ade9e623d39d75a7f1a','room','attic','
attic
',2,1,'2026-11-26T00:48:07.081854Z',1);
CREATE TABLE versions (
        thing TEXT NOT NULL REFERENCES things (id) ON DELETE CASCADE
            DEFERRABLE INITIALLY DEFERRED,
        number INTEGER NOT NULL CHECK (number > 0),
        parent INTEGER CHECK (parent < number),
        ahead INTEGER,
        saved_at TEXT NOT NULL,
        why TEXT NOT NULL,
        body TEXT NOT NULL,
        seal TEXT NOT NULL,
        PRIMARY KEY (thing, number),
        FOREIGN KEY (thing, parent) REFERENCES versions (thing, number)
            DEFERRABLE INITIALLY DEFERRED
    );
INSERT INTO "versions" VALUES('f0b76271e5c346e2b4a2abcc51111df4',1,NULL,2,'2026-11-26T00:48:07.037065Z','','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.5 m","height":"1.4 m","side":"30 deg camera-left"},"power":"1/8 + 0.5"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"2.5 m","height":"1.3 m","side":"15 deg camera-right"},"power":"1/4 + 0.8"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: first try","units":"metric"}','b4c58d28d4e08ac2fc10d173bfb44210');
INSERT INTO "versions" VALUES('f0b76271e5c346e2b4a2abcc51111df4',2,1,NULL,'2026-11-26T00:48:07.040488Z','after the moves','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.6 m","height":"2.1 m","side":"38 deg camera-left"},"power":"1/4"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"1.9 m","height":"2.05 m","side":"50 deg camera-right"},"power":"1/4 + 0.6"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: cured","units":"metric"}','8ae4a868980757f638be3fbe8ffd13c8');
INSERT INTO "versions" VALUES('f0b76271e5c346e2b4a2abcc51111df4',3,1,4,'2026-11-26T00:48:07.043277Z','key: half power','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.6 m","height":"2.1 m","side":"38 deg camera-left"},"power":"1/2"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"2.5 m","height":"1.3 m","side":"15 deg camera-right"},"power":"1/4 + 0.8"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: first try","units":"metric"}','b224ec350e74a0b56ee996d1b4aaddf9');
INSERT INTO "versions" VALUES('f0b76271e5c346e2b4a2abcc51111df4',4,3,NULL,'2026-11-26T00:48:07.044885Z','version 2 again','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.6 m","height":"2.1 m","side":"38 deg camera-left"},"power":"1/4"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"1.9 m","height":"2.05 m","side":"50 deg camera-right"},"power":"1/4 + 0.6"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: cured","units":"metric"}','ce0a8055c888cf0fed8b09ace23e987e');
INSERT INTO "versions" VALUES('c0e5f5ff32d94323af44b34a4bb70a5a',1,NULL,NULL,'2026-11-26T00:48:07.049370Z','','{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"}','4c898758b539dfe45f25c343159c2169');
INSERT INTO "versions" VALUES('3db20f1a9ede4f1a9c360bb42857acd8',1,NULL,NULL,'2026-11-26T00:48:07.059088Z','','{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated"}','878b931d6ab5dddb47a7291725bd18c6');
INSERT INTO "versions" VALUES('f9f0d7592a7e4859a7622c7cdd0ffccf',1,NULL,NULL,'2026-11-26T00:48:07.065749Z','','{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"}','ccf3beebffbb786558284e31102bf3e2');
INSERT INTO "versions" VALUES('26c77ef329dd42178506379e389aae9f',1,NULL,NULL,'2026-11-26T00:48:07.076473Z','','{"head":{"preset":"400 Ws studio head"},"meter":{"aperture":"f/8","distance":"1.5 m","modifier":{"preset":"medium softbox 60x90 cm"}},"name":"400 Ws studio head","what":"head"}','f71de87e99799f72c55e467dc14a5275');
INSERT INTO "versions" VALUES('ace276fb87f547eca8b0d264dfe77fbf',1,NULL,NULL,'2026-11-26T00:48:07.078616Z','','{"sitters":[{"height":"1.66 m","name":"Ines"}],"start":"9:00"}','66a85e773e2d30022b28c8b666f1d9a3');
INSERT INTO "versions" VALUES('eeb5c380eec84ade9e623d39d75a7f1a',1,NULL,NULL,'2026-11-26T00:48:07.080507Z','','{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"}','2cc84d07c8b39b69dacde0014ee9c4b7');
CREATE INDEX things_by_change ON things (kind, binned, changed_at);
CREATE INDEX versions_by_parent ON versions (thing, parent);
COMMIT;
