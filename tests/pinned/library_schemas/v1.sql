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
INSERT INTO "revisions" VALUES('258e3aa121464555b15275a9457e7e8e',1,1);
INSERT INTO "revisions" VALUES('258e3aa121464555b15275a9457e7e8e',2,2);
INSERT INTO "revisions" VALUES('258e3aa121464555b15275a9457e7e8e',3,1);
INSERT INTO "revisions" VALUES('258e3aa121464555b15275a9457e7e8e',4,3);
INSERT INTO "revisions" VALUES('258e3aa121464555b15275a9457e7e8e',5,4);
INSERT INTO "revisions" VALUES('258e3aa121464555b15275a9457e7e8e',6,3);
INSERT INTO "revisions" VALUES('2a597f2ef95747a6a6ad9e2a3a0e8743',1,1);
INSERT INTO "revisions" VALUES('4b7f2d3bcf07481a93645349226cfbb8',1,1);
INSERT INTO "revisions" VALUES('6f3b2f2011e1494dbfd3bcfd99f91813',1,1);
INSERT INTO "revisions" VALUES('6f3b2f2011e1494dbfd3bcfd99f91813',2,1);
INSERT INTO "revisions" VALUES('8529749901f94bd48f1a7d02e98b115f',1,1);
INSERT INTO "revisions" VALUES('89e072b74f9949709a3a66f6440738ef',1,1);
INSERT INTO "revisions" VALUES('c96a0463d4a64970875b37d49063da38',1,1);
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
INSERT INTO "things" VALUES('258e3aa121464555b15275a9457e7e8e','setup','Quillmere, first try','
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
',6,3,'2026-11-25T22:34:22.353845Z',0);
INSERT INTO "things" VALUES('8529749901f94bd48f1a7d02e98b115f','room','room of the reading room','
room of the reading room
',1,1,'2026-11-25T22:34:22.357992Z',0);
INSERT INTO "things" VALUES('2a597f2ef95747a6a6ad9e2a3a0e8743','sitter','sitter of the reading room','
sitter of the reading room
ines''s reading-room glasses
ines, reader services
',1,1,'2026-11-25T22:34:22.366900Z',0);
INSERT INTO "things" VALUES('4b7f2d3bcf07481a93645349226cfbb8','glasses','glasses of the reading room','
glasses of the reading room
ines''s reading-room glasses
',1,1,'2026-11-25T22:34:22.374019Z',0);
INSERT INTO "things" VALUES('c96a0463d4a64970875b37d49063da38','gear','Zoë''s 400 Ws head','
zoe''s 400 ws head
400 ws studio head
medium softbox 60x90 cm
',1,1,'2026-11-25T22:34:22.383731Z',0);
INSERT INTO "things" VALUES('89e072b74f9949709a3a66f6440738ef','session','portrait day','
portrait day
ines
',1,1,'2026-11-25T22:34:22.389638Z',0);
INSERT INTO "things" VALUES('6f3b2f2011e1494dbfd3bcfd99f91813','room','attic','
attic
',2,1,'2026-11-25T22:34:22.395669Z',1);
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
INSERT INTO "versions" VALUES('258e3aa121464555b15275a9457e7e8e',1,NULL,2,'2026-11-25T22:34:22.344294Z','','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.5 m","height":"1.4 m","side":"30 deg camera-left"},"power":"-2.5 stops"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"2.5 m","height":"1.3 m","side":"15 deg camera-right"},"power":"-1.2 stops"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: first try","units":"metric"}','d17f5918960ff3a61a9231d6fbe43a0e');
INSERT INTO "versions" VALUES('258e3aa121464555b15275a9457e7e8e',2,1,NULL,'2026-11-25T22:34:22.347827Z','after the moves','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.6 m","height":"2.1 m","side":"38 deg camera-left"},"power":"1/4"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"1.9 m","height":"2.05 m","side":"50 deg camera-right"},"power":"-1.4 stops"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: cured","units":"metric"}','7abc53e4b56261f49f2cc1e99251864b');
INSERT INTO "versions" VALUES('258e3aa121464555b15275a9457e7e8e',3,1,4,'2026-11-25T22:34:22.350818Z','key: half power','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.6 m","height":"2.1 m","side":"38 deg camera-left"},"power":"1/2"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"2.5 m","height":"1.3 m","side":"15 deg camera-right"},"power":"-1.2 stops"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: first try","units":"metric"}','57d3714990a46d1e2eb50ecbe06ea362');
INSERT INTO "versions" VALUES('258e3aa121464555b15275a9457e7e8e',4,3,NULL,'2026-11-25T22:34:22.352540Z','version 2 again','{"backdrop":{"distance":"1.5 m","height":"2.5 m","reflectance":0.18,"width":"2.7 m"},"camera":{"aim":{"distance":"0 m","height":"1.06 m"},"aperture":"f/8","focal_length":"85 mm","iso":100,"orientation":"portrait","place":{"distance":"2 m","height":"1.2 m","side":"0 deg"},"sensor":"full frame","shutter":"1/160 s"},"light":[{"aim":"face","head":{"preset":"400 Ws studio head"},"modifier":{"preset":"medium softbox 60x90 cm"},"name":"key","place":{"distance":"1.6 m","height":"2.1 m","side":"38 deg camera-left"},"power":"1/4"},{"aim":"face","head":{"preset":"200 Ws studio head"},"modifier":{"preset":"reflected umbrella 110 cm"},"name":"fill","place":{"distance":"1.9 m","height":"2.05 m","side":"50 deg camera-right"},"power":"-1.4 stops"}],"room":{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"},"sitter":{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated","turn":"0 deg"},"tapemark":1,"title":"Quillmere Library, reading room: cured","units":"metric"}','aa56bfa0e9dbeedeaeb20039008c100c');
INSERT INTO "versions" VALUES('8529749901f94bd48f1a7d02e98b115f',1,NULL,NULL,'2026-11-25T22:34:22.357744Z','','{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"}','4029a71ce99a834507f36a28504c09f3');
INSERT INTO "versions" VALUES('2a597f2ef95747a6a6ad9e2a3a0e8743',1,NULL,NULL,'2026-11-25T22:34:22.366657Z','','{"age":43,"eye_height":"1.2 m","glasses":{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"},"name":"Ines, reader services","posture":"seated"}','1dbe3052a38ad3f20996e98d548db4e2');
INSERT INTO "versions" VALUES('4b7f2d3bcf07481a93645349226cfbb8',1,NULL,NULL,'2026-11-25T22:34:22.373777Z','','{"bridge":"18 mm","coating":"none","left":{"sphere":"-2.00 D"},"lens_height":"37 mm","lens_width":"52 mm","name":"Ines''s reading-room glasses","outline":"soft rectangular","pantoscopic_tilt":"8 deg","right":{"axis":"10 deg","cylinder":"-0.50 D","sphere":"-2.25 D"},"rim":"full"}','eac236b86179c3584c4ddcdb1684a980');
INSERT INTO "versions" VALUES('c96a0463d4a64970875b37d49063da38',1,NULL,NULL,'2026-11-25T22:34:22.383526Z','','{"head":{"preset":"400 Ws studio head"},"meter":{"aperture":"f/8","distance":"1.5 m","modifier":{"preset":"medium softbox 60x90 cm"}},"name":"400 Ws studio head","what":"head"}','29e0153fff80e040cc374839e7f44547');
INSERT INTO "versions" VALUES('89e072b74f9949709a3a66f6440738ef',1,NULL,NULL,'2026-11-25T22:34:22.389414Z','','{"sitters":[{"height":"1.66 m","name":"Ines"}],"start":"9:00"}','7dbce90ce624c0e600ab916346bc4c28');
INSERT INTO "versions" VALUES('6f3b2f2011e1494dbfd3bcfd99f91813',1,NULL,NULL,'2026-11-25T22:34:22.393859Z','','{"behind_sitter":"2 m","camera_left":"2.7 m","ceiling_reflectance":0.8,"height":"2.75 m","length":"7 m","wall_reflectance":0.25,"width":"5.4 m"}','d4a9a7a79eb7b9fe0c3d943948708444');
CREATE INDEX things_by_change ON things (kind, binned, changed_at);
CREATE INDEX versions_by_parent ON versions (thing, parent);
COMMIT;
